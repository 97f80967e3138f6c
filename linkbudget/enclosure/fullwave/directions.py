"""Directions of the pattern: every 3 degrees from the pole, every 7.5 degrees round it."""

THETA_STEPS, PHI_STEPS = 61, 48
