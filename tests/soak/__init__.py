"""Endurance: a day's operation in a short time, on three copies, with everything going wrong."""
