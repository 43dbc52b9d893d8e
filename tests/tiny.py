"""A job of one roll and seven pieces, which is made in a tenth of a second, for tests where size plays no part."""

JOB = """
name = "Lean-to"
pitch = 30
covering = "plain tile 265"

[[detail]]
kind = "apron"
width = 600
upstand = 100
cover = 200

[[detail]]
kind = "soakers"
count = 3
upstand = 75
hands = "pair"
"""
