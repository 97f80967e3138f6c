"""Results as a page, a record and a terminal summary; no physics, no statistics."""
