"""Pictures: frozen records in, SVG text out. The renderers know no trade; the views that do build records for them."""
