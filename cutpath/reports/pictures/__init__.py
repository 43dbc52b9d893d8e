"""Pictures to scale: walls, folded pieces, patterns and rolls."""
