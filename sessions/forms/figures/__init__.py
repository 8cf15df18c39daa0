"""Which sessions the owner's figures count."""
