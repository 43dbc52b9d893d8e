"""What every family is held to: one module each, called like the family's folder, with two values.

``CLAIMS`` says how its pieces stand when they are folded up (`cutpath.folding`), ``SECOND`` how its survey follows from
what was written (`cutpath.recheck`). Both provers find the modules by themselves; what has none here is refused. None
of it shares code with `cutpath.families`: a survey that stands there is named for the type checker alone.
"""
