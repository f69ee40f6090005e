"""Ask pip-audit whether a known fault is in what is installed here.

    python audit.py PYTHON

Ends with 1 if it names one that a later release has mended: then our own bounds hold that
release back. A fault that nobody has mended yet is named. Where the database of faults cannot be
reached, says so: that is not an audit.
"""

import json
import subprocess
import sys

freeze = [sys.argv[1], "-m", "pip", "list", "--format=freeze", "--exclude-editable"]
installed = subprocess.run(freeze, capture_output=True, text=True, check=True).stdout
ours = [line for line in installed.splitlines() if not line.startswith("formulate")]
audit = [sys.executable, "-m", "pip_audit", "-r", "/dev/stdin", "--no-deps", "--disable-pip"]
done = subprocess.run(
    [*audit, "-f", "json"], input="\n".join(ours), capture_output=True, text=True, check=False
)
try:
    found = json.loads(done.stdout)["dependencies"]
except (ValueError, KeyError):
    print(f"NOT audited: {(done.stderr.strip().splitlines() or ['no answer'])[-1][:200]}")
    sys.exit(0)
faults = [one for one in found if one.get("vulns")]
skipped = [one["name"] for one in found if "skip_reason" in one]
mended = False
for one in faults:
    for fault in one["vulns"]:
        fixed = fault.get("fix_versions", [])
        mended = mended or bool(fixed)
        print(one["name"], one["version"], fault["id"], "mended in", ", ".join(fixed) or "none yet")
audited = len(found) - len(skipped)
print(f"{audited} of {len(found)} libraries audited, {len(faults)} with a known fault")
if skipped:
    print("NOT audited, for the database does not have them or cannot be reached:", *skipped)
sys.exit(mended)
