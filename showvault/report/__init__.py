"""Values as text for people and programs."""
