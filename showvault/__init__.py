"""Version control and backup for stage-lighting show files."""

__version__ = "0.1.0"
