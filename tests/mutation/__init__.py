"""Small changes made to the code, one at a time, to see which no test notices.

`python -m tests.mutation --help` tells how to run it; `__main__.py` how it works.
"""
