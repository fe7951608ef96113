"""What card, sheets and `check` all say of a job, worked out once."""
