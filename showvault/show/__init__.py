"""What a show is, and how it is read, written and cut."""
