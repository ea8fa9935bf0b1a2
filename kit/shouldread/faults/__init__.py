"""The faults room."""
