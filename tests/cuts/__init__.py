"""Files that lost their end: each cut must be refused, or told, and none taken for the whole.

`python -m tests.cuts` cuts every export of the example plant, and what the library canopen writes
and ships, at the begin of each section and row and at random bytes, and has each piece taken in.
"""
