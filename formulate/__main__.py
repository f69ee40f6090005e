"""``python -m formulate``, and the commands that are installed."""

import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line; interrupted while it is still loading, it ends as it would later."""
    try:
        from formulate.cli.main import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
