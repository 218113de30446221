"""What differs between two shows."""
