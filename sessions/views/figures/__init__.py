"""The owner's figures, as a page and as tables to take away."""
