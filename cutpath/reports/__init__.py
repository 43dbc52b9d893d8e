"""What is told of a finished nest: its account in figures, pictures of it, and pages in words.

`text` and `markup` are what all three rooms write with; pictures may read the account, words may read both.
"""
