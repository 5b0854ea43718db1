"""Command line: translates only. Each command imports what it needs when it runs, so that help stays quick."""
