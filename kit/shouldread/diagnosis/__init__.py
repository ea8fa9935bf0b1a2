"""The diagnosis room."""
