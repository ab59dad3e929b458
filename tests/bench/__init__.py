"""Speed, memory and size of axisvault as ratios against something real, measured in one run.

    python -m tests.bench [--quick] [--json] [--only NAME]

A new row is one function with a decorator in `rows.py`.
"""
