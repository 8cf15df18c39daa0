"""The form of what the studio has learned."""
