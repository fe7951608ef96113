"""Tubes in space: their outside, developed patterns, where they cross, and what a hole leaves of them."""
