"""``python -m formulate``."""

from formulate.cli.main import main

main()
