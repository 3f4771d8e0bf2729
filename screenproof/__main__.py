"""``python -m screenproof``: the same as the command ``screenproof``."""

from screenproof.cli import main

if __name__ == "__main__":
    main()
