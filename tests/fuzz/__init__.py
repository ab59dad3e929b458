"""Fuzzing: hostile variants of every kind of input, each read in bounded time and memory."""
