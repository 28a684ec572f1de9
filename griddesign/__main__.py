"""``python -m griddesign`` and the console command ``griddesign``."""

from griddesign.cli import main

__all__ = ["main"]

if __name__ == "__main__":
    main()
