"""What a printer does to a page, and the map that undoes it."""
