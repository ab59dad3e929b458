"""How a case is put together: machine first, then the drive, then what surrounds it."""
