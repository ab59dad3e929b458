"""An independent oracle: drive and mechanics simulated in time, from raw objects.

It shares no code with the program. `cases` draws axes at random, `measure` tells what each does.
"""
