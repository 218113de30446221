"""Where versions lie, as parts and bytes in git, and the newest as plain files."""
