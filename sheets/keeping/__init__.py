"""What may be written over, and which packet came from which."""
