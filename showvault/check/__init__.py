"""What is wrong with a show."""
