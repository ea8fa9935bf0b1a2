"""The reference room."""
