"""Ground floor: errors, decibels, units, quantities, sources and tables; no physics."""
