"""Design: what the maker has decided or measured, as frozen records, and how they are read from and written to files.

This room knows the words of the set file and of the workshop file, and nothing of geometry or physics.
"""
