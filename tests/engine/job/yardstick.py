"""One value of a job changed by an outside writer of TOML: what the job's own edits are measured by."""

import tomlkit


def with_value(text, way, value):
    """Return the job text with the value at `way` changed; comments and order stay."""
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    document = tomlkit.parse(text.removeprefix(mark))
    table = document
    for part in way[:-1]:
        table = table[part]
    table[way[-1]] = value
    return mark + tomlkit.dumps(document)
