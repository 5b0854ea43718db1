"""Folder: the maker's folder. The only place that puts the rooms of floor 4 together; screens and commands ask here."""
