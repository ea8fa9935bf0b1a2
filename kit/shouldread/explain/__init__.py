"""The explain room."""
