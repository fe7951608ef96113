"""Sheets into files and back: one library a module, and nothing leaves unmeasured."""
