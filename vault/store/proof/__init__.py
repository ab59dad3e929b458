"""What shows that nobody rewrote the history unseen."""
