"""Version control, semantic differences and restore for drive parameters."""

__version__ = "0.1.0"
