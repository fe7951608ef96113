"""The job file: its keys, their limits and units, its order of work, and how it is read."""
