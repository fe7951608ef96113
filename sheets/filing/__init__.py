"""Filed packets: proven, revised, placed again, and named where a number was wrong."""
