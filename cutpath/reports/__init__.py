"""What is told of a finished nest: its account in figures, pictures of it, and pages in words.

All three rooms write with `cutpath.paper`; pictures may read the account, words may read both.
"""
