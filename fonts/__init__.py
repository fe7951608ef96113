"""The drafting alphabet: single-stroke lettering that is the same geometry in every file."""
