"""Neutral strokes with roles: lettering, order of cutting, and the look at a drawing before it is written."""
