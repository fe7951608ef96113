"""Readers that share no code with the writers, and the measuring of what was written."""
