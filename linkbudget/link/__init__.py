"""Does the link reach, and what limits it."""
