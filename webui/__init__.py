"""The viewer: a Flask application over a vault. It needs no network and works without scripts.

Every page has its data under the same address below `/api/v1`, as the command line's `--json` has
it. There is no domain logic here: a page asks a job and shows what it says.
"""
