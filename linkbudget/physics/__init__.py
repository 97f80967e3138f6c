"""Pure functions on floats and arrays, each formula beside its source."""
