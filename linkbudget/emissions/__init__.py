"""Where the pre-scans stand against the limit lines."""
