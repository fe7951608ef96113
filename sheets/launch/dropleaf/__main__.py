"""`python -m dropleaf` is the same as `dropleaf`."""

import sys

from dropleaf import program

sys.exit(program())
