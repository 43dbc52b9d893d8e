"""Frozen values that travel from stage to stage; no module here opens a file or computes a shape.

`survey` is what was measured, `pattern` a developed flat shape, `piece` a pattern to be cut so many times,
`nest` rolls and the places of blanks on them, `drawing` strokes with roles.
"""
