"""Three shows into one, and one thing into another show."""
