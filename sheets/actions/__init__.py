"""One module for each thing that a user asks for, without a terminal in it."""
