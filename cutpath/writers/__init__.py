"""A drawing in a file format: one module per format, each a pure function from a `Drawing` to text or bytes.

Every module maps roles to what its format has for them: `dxf.ROLE_LAYERS`, `svg.ROLE_GROUPS`.
No real machine was tried with any of these files; independent readers were.
"""
