"""Families of leadwork: one folder each, with its table in the job file, its survey, its patterns and its rules.

`cutpath.families.registry` lists them; `cutpath.families.family` says what each of them brings.
"""
