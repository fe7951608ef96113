"""Sheets to lay on the job at full size, and the pages of loads."""
