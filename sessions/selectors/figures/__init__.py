"""Read what the owner's figures are computed from."""
