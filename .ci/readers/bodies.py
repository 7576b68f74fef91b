"""GLB files as the Khronos validator reads them, and what is kept of that in tests/data."""

import json
import subprocess

VALIDATE = """
const fs = require('fs'), {validateBytes} = require(process.argv[1]);
validateBytes(new Uint8Array(fs.readFileSync(process.argv[2])), {maxIssues: 20})
  .then(report => console.log(JSON.stringify(report)), error => { console.error(error); process.exit(1); });
"""


def parts(tally, folder, work):
    """Every body of a spec made with --glb; gives what was read of them."""
    files = sorted(folder.glob("*/*.glb"))
    tally.check("GLB: bodies were written", files, f"{len(files)} files")
    return {f"{file.parent.name}/{file.name}": one(tally, file, work) for file in files}


def one(tally, file, work):
    package = str((work / "npm/node_modules/gltf-validator").resolve())
    said = subprocess.run(["node", "-e", VALIDATE, package, file], check=True, capture_output=True, text=True)
    report = json.loads(said.stdout)
    issues = report["issues"]
    bad = [f"{m['code']} at {m.get('pointer')}" for m in issues["messages"] if m["severity"] < 2]
    tally.check(f"gltf-validator: {file.name} is glTF 2.0 without an error or a warning", not bad, "; ".join(bad[:3]))
    info = report["info"]
    return {
        "vertices": info["totalVertexCount"],
        "triangles": info["totalTriangleCount"],
        "materials": info["materialCount"],
        "box_mm": box(file),
    }


def box(file):
    """Sides of the part itself, mm: right, up, aft."""
    data = file.read_bytes()
    root = json.loads(data[20 : 20 + int.from_bytes(data[12:16], "little")])
    place = root["accessors"][root["meshes"][0]["primitives"][0]["attributes"]["POSITION"]]
    return [round((b - a) * 1000, 3) for a, b in zip(place["min"], place["max"], strict=True)]
