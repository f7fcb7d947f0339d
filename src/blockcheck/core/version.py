"""The version: it stands here alone."""

__version__ = "0.1.0"
