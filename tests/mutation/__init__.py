"""How sharp the tests are: small changes are made to the code, and a test should fail for each.

`python -m tests.mutation vault.store` changes a copy of the checkout in some hundred places, one at
a time, and runs the tests that go through the place. A change that no test notices has *survived*:
it is printed, and usually asks for a test.
"""
