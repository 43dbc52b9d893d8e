"""Pictures to scale: walls, sections, folded pieces, patterns, rolls, and what they are drawn with."""
