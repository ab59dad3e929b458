"""Killing: every writing command, at moments by chance; nothing is lost, nothing half-done."""
