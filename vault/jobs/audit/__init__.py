"""What changed around a fault, and the evidence."""
