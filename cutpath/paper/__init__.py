"""What pictures and words on paper are made of: figures as text, markup, lines and letters, lead in its place.

Knows no family of leadwork and no report; both draw and write with it.
"""
