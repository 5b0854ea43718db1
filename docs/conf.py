"""How the documentation is built (Sphinx, MyST). No mathematics markup: formulas are plain text and need no script."""

from __future__ import annotations

from lodestring.version import __version__

project = "Lodestring"
author = "The Lodestring authors"
copyright = "2026, The Lodestring authors"
version = release = __version__

extensions = ["myst_parser"]
myst_enable_extensions = ["colon_fence", "deflist"]
myst_heading_anchors = 3
exclude_patterns = ["Thumbs.db", ".DS_Store"]

html_theme = "furo"
html_title = f"Lodestring {__version__}"
html_copy_source = False
html_show_sourcelink = False
