"""`python -m sheets` is the same as `dropleaf`."""

from sheets import interrupts

if __name__ == "__main__":
    # Before anything else is loaded.
    interrupts.hold()

    import sys

    from sheets.cli import program

    sys.exit(program())
