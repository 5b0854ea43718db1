"""Pictures: frozen records in, SVG text out. Nothing in this room knows the trade or a formula."""
