"""``python -m formulate``."""

from formulate.cli import main

main()
