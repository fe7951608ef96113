"""What the builder teaches the program and keeps in a folder of their own."""
