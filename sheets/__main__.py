"""`python -m sheets` is the same as `dropleaf`."""

import sys

from sheets.cli import main

if __name__ == "__main__":
    sys.exit(main())
