"""The practice room."""
