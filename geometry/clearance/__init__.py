"""What comes how near to what: bodies, gaps, the wheel's travel and the tilts that hold."""
