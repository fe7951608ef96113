"""One printed sheet a module: a placement in, a Sheet value out."""
