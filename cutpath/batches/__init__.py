"""Batches made: one, from what was asked to every file of its folder (`one`), and many over an executor (`many`).

`listing` reads the file that lists them; `crews` has the executors: processes of this machine, or a Dask cluster.
"""
