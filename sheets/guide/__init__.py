"""The guided start: questions about a builder's own frame, and the commented job file that they make."""
