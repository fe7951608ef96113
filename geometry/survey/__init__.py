"""Readings of a caliper: which to take, what they say of a finished mount, and rows made from them."""
