"""A crew's folder whose free texts try everything: markup, scripts, spreadsheet formulas, one endless word."""

from pathlib import Path

import yaml

SHIPPED = Path(__file__).resolve().parent.parent.parent / "vehicle_data"
# Would set the title of the page, which a browser test looks at; every one begins with a word that a search finds.
MARK = "ran"
PAYLOADS = (
    f"hostilia <script>document.title='{MARK}'</script>",
    f"hostilia <img src=x onerror=\"document.title='{MARK}'\">",
    f"hostilia </title></svg></p><script>document.title='{MARK}'</script>",
    f'hostilia "><svg onload="document.title=\'{MARK}\'">',
    f"hostilia [link](javascript:document.title='{MARK}') **bold** {{{{ config }}}} {{% raw %}} `code`",
    f"=HYPERLINK(\"javascript:document.title='{MARK}'\") hostilia",
    "hostilia" + "w" * 580,
    "+hostilia",
    "-hostilia",
    "@hostilia",
    "hostilia &lt;script&gt; &#60;script&#62; %3Cscript%3E --> <!-- ]]> \\u003cscript\\u003e",
)


def write(folder: Path) -> Path:
    """Write records that are valid, and hostile in every free text."""
    for kind, name, fields in (
        ("vehicle_classes", "compact-hatch", ("summary", "notes")),
        ("rigs", "pass-truck", ("summary", "notes")),
        ("inlets", "ccs1", ("standard", "tell_apart", "ac_part", "notes")),
        ("connectors", "j3400", ("standard", "latch", "notes")),
        ("adapters", "j3400-to-j1772-80a", ("latch", "notes")),
    ):
        (folder / kind).mkdir(parents=True, exist_ok=True)
        data = yaml.safe_load((SHIPPED / kind / f"{name}.yaml").read_text(encoding="utf-8"))
        for number, payload in enumerate(PAYLOADS):
            record = dict(data)
            for field in fields:
                record[field] = payload
            if kind in {"vehicle_classes", "inlets"}:
                record["also_called"] = [payload]
            # The longest names that are allowed, in words and without a gap.
            record["name"] = f"{data['name'][:30]} H{number} {'long words ' * 3}"[:60].strip()
            if number % 2:
                record["name"] = f"H{number}-{'unbroken' * 8}"[:60]
            if kind == "vehicle_classes":
                record["ports"] = [{"inlet": "ccs1", "places": [{"at": "nose"}], "detail": payload}]
            record["sources"] = {
                key: {**origin, "note": payload} for key, origin in data["sources"].items() if key != "ports"
            }
            target = folder / kind / f"hostile-{name[:20]}-{number}.yaml"
            target.write_text(yaml.safe_dump(record, allow_unicode=True, width=10_000), encoding="utf-8")
    return folder
