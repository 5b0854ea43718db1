"""Parts: solids and flatwork of a set, the fit of their holes, checks on them, and their files.

Records and choices are pure; what makes solids imports its CAD kernel inside functions, and runs in a worker process.
"""
