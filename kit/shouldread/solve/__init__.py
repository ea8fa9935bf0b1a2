"""The solve room."""
