"""Drawings that somebody gives: SVG and DXF read as flat lines in mm, bounded, and nothing in them is run."""
