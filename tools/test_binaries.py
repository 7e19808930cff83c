"""Lists the test programs of a build: test_binaries.py < cargo's messages as JSON

One line each: name, the package's folder, the program. What cargo built in one go is run from this list,
since cargo takes other features for each choice of tests and would build the tree again.
"""
import json
import os
import sys

for line in sys.stdin:
    message = json.loads(line)
    if message.get("reason") != "compiler-artifact" or not message["profile"]["test"]:
        continue
    if message["executable"] is not None:
        folder = os.path.dirname(message["manifest_path"])
        print(message["target"]["name"], folder, message["executable"], sep="\t")
