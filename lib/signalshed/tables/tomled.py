"""TOML text changed where something changed, and nowhere else: remarks, order and blanks stay."""

import re
import tomllib

import tomli_w

_WIDE = 96


def toml_text(data):
    """``data`` as TOML that a person reads: short lists on one line, a part a line, tables last.

    Parameters: ``data`` a dict of values, lists, dicts and lists of dicts.

    >>> loop = {"name": "loop", "lives": ["attic", "room"], "sizes": {"freq_mhz": 539}}
    >>> print(toml_text(loop), end="")
    name = "loop"
    lives = ["attic", "room"]
    <BLANKLINE>
    [sizes]
    freq_mhz = 539
    """
    return "\n".join(_lines(data, "")).strip("\n") + "\n"


def _lines(data, path):
    tables = {k: v for k, v in data.items() if isinstance(v, dict) or (_is_tables(v) and not path)}
    lines = [f"{_key(k)} = {_value(v)}" for k, v in data.items() if k not in tables]
    for key, value in tables.items():
        whole = f"{path}.{_key(key)}" if path else _key(key)
        for row in [value] if isinstance(value, dict) else value:
            head = f"[{whole}]" if isinstance(value, dict) else f"[[{whole}]]"
            lines += ["", head, *_lines(row, whole)]
    return lines


def _is_tables(value):
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _key(key):
    return tomli_w.dumps({key: 0}).removesuffix(" = 0\n")


def _value(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        cells = [_value(v) for v in value]
        short = f"[{', '.join(cells)}]"
        long = "[\n" + "".join(f"    {cell},\n" for cell in cells) + "]"
        return long if len(short) > _WIDE or (_is_tables(value) and len(value) > 1) else short
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    return tomli_w.dumps({"a": value}).removeprefix("a = ").rstrip("\n")


def edited(text, data):
    """The TOML ``text`` with the content ``data``, changed line by line; None where that cannot be.

    Tables of a list are known by their ``name``. Parameters: ``text`` that parses; ``data`` a dict.

    >>> print(edited('a = 1  # one\\n# two\\nb = 2\\n', {"a": 3, "b": 2}), end="")
    a = 3  # one
    # two
    b = 2
    """
    old, blocks = tomllib.loads(text), _blocks(text.split("\n"))
    for key in old.keys() - data.keys():
        if isinstance(old[key], dict) or _is_tables(old[key]):
            blocks = [b for b in blocks if b.path[:1] != (key,)]
    own = {k: v for k, v in data.items() if not isinstance(v, dict) and not _is_tables(v)}
    blocks[0].take(own, tomllib.loads(blocks[0].text()))
    for key in [k for k in data if k not in own]:
        is_list = not isinstance(data[key], dict)
        names = [row.get("name") for row in data[key]] if is_list else [None]
        before = [row.get("name") for row in old.get(key, [])] if is_list else [None]
        blocks = [b for b in blocks if b.path[:1] != (key,) or _kept(b, before, names)]
        for row, name in zip(data[key] if is_list else [data[key]], names, strict=True):
            at = (key, before.index(name)) if is_list and name in before else (key,)
            blocks = _with_table(blocks, at, row, is_list and at == (key,))
    made = re.sub(r"\n{3,}", "\n\n", "\n".join(b.text() for b in blocks)).strip("\n") + "\n"
    return made if _holds(made, data) else None


def _holds(text, data):
    """Whether TOML ``text`` says ``data``, lists of tables in any order."""
    try:
        return _in_order(tomllib.loads(text)) == _in_order(data)
    except tomllib.TOMLDecodeError:
        return False


def _in_order(data):
    return {
        k: sorted(v, key=lambda row: str(row.get("name"))) if _is_tables(v) else v
        for k, v in data.items()
    }


def _kept(block, before, names):
    """Whether a block of a list of tables is of one that stays."""
    return len(block.path) < 2 or before[block.path[1]] in names


def _with_table(blocks, at, row, is_new):
    """Blocks with one table ``row`` changed in place, or put behind the last of its kind."""
    there = [k for k, b in enumerate(blocks) if b.path[: len(at)] == at]
    key = at[0]
    if is_new or not there:
        alike = [k for k, block in enumerate(blocks, 1) if block.path[:1] == (key,)]
        behind = max(alike, default=len(blocks))
        new = toml_text({key: [row] if is_new else row}).strip("\n").split("\n")
        return [*blocks[:behind], _Block((key,), ["", *new]), *blocks[behind:]]
    head = blocks[there[0]]
    below = {blocks[k].path[len(at)] for k in there if len(blocks[k].path) > len(at)}
    head.take({k: v for k, v in row.items() if k not in below}, head.content())
    for name in below:
        inner = [k for k in there if blocks[k].path == (*at, name)]
        if name not in row:
            blocks = [b for b in blocks if b.path[: len(at) + 1] != (*at, name)]
        elif len(inner) == 1:
            blocks[inner[0]].take(row[name], blocks[inner[0]].content())
    return blocks


class _Block:
    """The lines of one table of a TOML file: ``path`` of names and numbers, ``lines`` from its head."""

    def __init__(self, path, lines):
        self.path, self.lines = path, lines

    def text(self):
        return "\n".join(self.lines)

    def content(self):
        """What its lines say, its head aside."""
        return tomllib.loads("\n".join(self.lines[1:]))

    def take(self, data, old):
        """Change its lines so that they say ``data`` in place of ``old``."""
        first = 1 if self.path else 0
        for key in {**old, **data}:
            if key in old and key in data and old[key] == data[key]:
                continue
            at = _where(self.lines, first, key)
            new = f"{_key(key)} = {_value(data[key])}" if key in data else ""
            if at is None:
                self._put(new, key, first)
                continue
            remark = _remark(self.lines[slice(*at)])
            self.lines[slice(*at)] = (new + remark).split("\n") if new else []

    def _put(self, new, key, first):
        """A new key: where a remark offers it, else behind the last key."""
        for k, line in enumerate(self.lines):
            if re.match(rf"\s*#\s*{re.escape(key)}\s*=", line):
                remark = re.search(r"#[^#]*$", line.lstrip()[1:])
                self.lines[k] = new + (f"  {remark[0]}" if remark else "")
                return
        says = re.compile(r"\s*[^#\s]")
        filled = [k for k, line in enumerate(self.lines) if k >= first and says.match(line)]
        at = max(filled, default=first - 1) + 1
        self.lines[at:at] = new.split("\n")


def _statements(lines, first=0):
    """(start, end) of every key with its value, which may take several lines, from ``first`` on."""
    k = first
    while k < len(lines):
        if lines[k].strip() and not lines[k].lstrip().startswith(("#", "[")):
            end = next((e for e in range(k + 1, len(lines) + 1) if _parses(lines[k:e])), k + 1)
            yield k, end
            k = end
        else:
            k += 1


def _parses(lines):
    try:
        return bool(tomllib.loads("\n".join(lines)))
    except tomllib.TOMLDecodeError:
        return False


def _where(lines, first, key):
    """(start, end) of the lines of a ``key``, or None."""
    spans = _statements(lines, first)
    return next((s for s in spans if key in tomllib.loads("\n".join(lines[slice(*s)]))), None)


def _remark(lines):
    """The remark behind a value, with the blanks before it, or ""."""
    last = lines[-1]
    for found in re.finditer(r"\s*#", last):
        if _parses([*lines[:-1], last[: found.start()]]):
            return last[found.start() :]
    return ""


def _blocks(lines):
    """The tables of a file: the keys at its top first, then one by head."""
    inside = {k for start, end in _statements(lines) for k in range(start, end)}
    heads = [k for k, x in enumerate(lines) if k not in inside and x.lstrip().startswith("[")]
    blocks, counts = [_Block((), lines[: heads[0] if heads else len(lines)])], {}
    for k, end in zip(heads, [*heads, len(lines)][1:], strict=True):
        names = _names(tomllib.loads(lines[k]))
        if lines[k].lstrip().startswith("[[") and len(names) == 1:
            counts[names[0]] = counts.get(names[0], -1) + 1
        if names[0] in counts:
            names = (names[0], counts[names[0]], *names[1:])
        blocks.append(_Block(names, lines[k:end]))
    return blocks


def _names(data):
    """The way of names that a line with a head alone opens."""
    names = ()
    while data:
        key, value = next(iter(data.items()))
        names, data = (*names, key), value[0] if isinstance(value, list) else value
    return names
