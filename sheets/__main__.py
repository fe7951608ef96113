"""`python -m sheets` is the same as `dropleaf`."""

import sys

from sheets.cli import program

if __name__ == "__main__":
    sys.exit(program())
