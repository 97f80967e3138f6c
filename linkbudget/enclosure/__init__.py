"""The product's metal: dimensions in, loss and directions out."""
