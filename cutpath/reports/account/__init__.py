"""Figures of a finished nest: what was bought and used, the cutting list, quantities, setting-out points, weights."""
