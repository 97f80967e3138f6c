"""Book the lab, fix first, or measure more."""
