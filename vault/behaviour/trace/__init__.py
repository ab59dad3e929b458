"""What the recording of a move tells of its axis: pure functions over arrays in SI."""
