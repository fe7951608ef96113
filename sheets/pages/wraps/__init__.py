"""Strips of paper to bend round tubes, bosses, tabs and braces."""
