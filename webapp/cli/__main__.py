"""``python -m webapp.cli``: the ``clickstop`` command."""

from webapp.cli import main

if __name__ == "__main__":
    main()
