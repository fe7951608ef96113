"""Paper from placements: the job file, the sheets, the writers, the read-back and the commands."""
