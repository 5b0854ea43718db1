"""`python -m lodestring` is the command `lodestring`, for systems where scripts are not on the path."""

from __future__ import annotations

from lodestring.cli.main import main

if __name__ == "__main__":
    main()
