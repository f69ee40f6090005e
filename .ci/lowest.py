"""Print the lowest version of each library that pyproject.toml allows, as constraints for pip."""

import re
import tomllib
from pathlib import Path

project = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text())["project"]
for requirement in project["dependencies"]:
    name, low = re.match(r"([\w.-]+)>=([\w.]+)", requirement).groups()
    print(f"{name}=={low}")
