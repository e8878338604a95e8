"""A job book for a small deck contractor. Nothing is imported eagerly here, so that commands start fast."""

__version__ = "0.1.0"
