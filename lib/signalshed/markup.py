"""HTML, written here and nowhere else: escaped text, the one table, and what a notebook shows."""

import html

_LEFT = ' style="text-align:left"'
AS_IT_IS = "mathjax_ignore tex2jax_ignore"
"""Classes of what notebooks and exported pages show as it is, never as mathematics."""


def safe(text):
    """Any value, ``text``, as HTML that shows it as it is.

    >>> safe("<b>&'")
    '&lt;b&gt;&amp;&#x27;'
    """
    return html.escape(str(text), quote=True)


def element(tag, inner, css=""):
    """``<tag>`` round ``inner``, which is HTML already; ``css`` a class of the page's style.

    >>> element("li", "<b>1</b>")
    '<li><b>1</b></li>'
    """
    return f'<{tag} class="{css}">{inner}</{tag}>' if css else f"<{tag}>{inner}</{tag}>"


def paragraph(text, css=""):
    """A paragraph of plain ``text``, nothing at all for none; ``css`` a class of the page's style.

    >>> paragraph("3 < 4"), paragraph("")
    ('<p>3 &lt; 4</p>', '')
    """
    return element("p", safe(text), css) if text else ""


def bullets(texts):
    """A list of plain ``texts``; nothing at all for none.

    >>> bullets(["a", "b"]), bullets([])
    ('<ul><li>a</li><li>b</li></ul>', '')
    """
    items = "".join(element("li", safe(t)) for t in texts)
    return element("ul", items) if items else ""


def section(title, *parts, css=""):
    """A section under a plain ``title``; ``parts`` are HTML already; ``css`` a class.

    >>> section("Aim", "<p>south</p>").splitlines()
    ['<section><h2>Aim</h2>', '<p>south</p></section>']
    """
    return element("section", "\n".join([element("h2", safe(title)), *parts]), css)


def figure(picture, caption):
    """A Picture, ``picture``, with its alternative text, inside the page, over a plain ``caption``.

    >>> from types import SimpleNamespace
    >>> figure(SimpleNamespace(img=lambda dpi: "<img>"), "a map")
    '<figure><img><figcaption>a map</figcaption></figure>'
    """
    return element("figure", picture.img(160) + element("figcaption", safe(caption)))


class Number(str):
    """Text that is a number: it stands right in its column."""

    __slots__ = ()


class Line(str):
    """A row of a table that is one text across all columns, for the rows after it."""

    __slots__ = ()


class Drawn(str):
    """Text of a cell with ``html`` of its own, which says the same as a drawing.

    >>> Drawn("7 of 10", "<b>7</b>").html
    '<b>7</b>'
    """

    def __new__(cls, text, html):
        made = super().__new__(cls, text)
        made.html = html
        return made


def table(headers, groups, css="", *, caption="", named=False, left=False):
    """A table of plain text, everything escaped.

    Parameters: ``headers`` of the columns, a Number over numbers, none for a table without;
    ``groups`` pairs of a heading ("" for none) and rows, each a sequence of cells or a Line; a Number
    stands right, a Drawn is shown as it was drawn; ``css`` a class; ``caption`` plain text above;
    ``named`` True where the first cell of each row is what the row is about; ``left`` True sets text
    left in the cells themselves, for a notebook, whose own style sets all to the right.

    >>> table(["a"], [("", [["<"]])])
    '<table><thead><tr><th scope="col">a</th></tr></thead><tbody><tr><td>&lt;</td></tr></tbody></table>'
    >>> table([], [("", [["mast", "9 m"]])], named=True)
    '<table><tbody><tr><th scope="row">mast</th><td>9 m</td></tr></tbody></table>'
    """
    style = _LEFT if left else ""
    head = element("tr", "".join(_title(h, style) for h in headers))
    body = "".join(_group(heading, rows, len(headers), named, style) for heading, rows in groups)
    parts = [
        element("caption", safe(caption)) if caption else "",
        element("thead", head) if headers else "",
        element("tbody", body),
    ]
    return element("table", "".join(parts), css)


def _group(heading, rows, width, named, style):
    """Rows of a table, under a heading of their own where there is one."""
    span = f'<th{style} colspan="{width}" scope="rowgroup">{safe(heading)}</th>'
    above = element("tr", span, "group") if heading else ""
    return above + "".join(_row(row, width, named, style) for row in rows)


def _row(row, width, named, style):
    if isinstance(row, Line):
        return element(
            "tr", f'<th{style} colspan="{width}" scope="rowgroup">{safe(row)}</th>', "line"
        )
    return element("tr", _cells(row, named, style))


def _cells(row, named, style):
    name = [f'<th scope="row">{safe(row[0])}</th>'] if named else []
    return "".join([*name, *(_cell(value, style) for value in row[len(name) :])])


def _title(header, style):
    how = ' scope="col" class="number"' if isinstance(header, Number) else f'{style} scope="col"'
    return f"<th{how}>{safe(header)}</th>"


def _cell(value, style):
    how = ' class="number"' if isinstance(value, Number) else style
    shown = value.html if isinstance(value, Drawn) else safe(value)
    return f"<td{how}>{shown}</td>"


def shown_as(kind, card):
    """Register what a notebook shows of a thing: called once for each kind, by its package.

    No name in it is typeset as mathematics, whatever dollars and backslashes it holds.

    Parameters: ``kind`` a class; ``card`` a function of one of them that returns HTML.

    >>> class Roof: pass
    >>> shown_as(Roof, lambda roof: paragraph("flat"))
    >>> Roof()._repr_html_()
    '<div class="mathjax_ignore tex2jax_ignore"><p>flat</p></div>'
    """
    kind._repr_html_ = lambda thing: f'<div class="{AS_IT_IS}">{card(thing)}</div>'


class Card:
    """Something to read: ``html`` for a notebook, ``text`` for a terminal.

    >>> Card("<b>yes</b>", "yes")
    yes
    """

    def __init__(self, html, text):
        self.html, self.text = html, text

    def __repr__(self):
        return self.text


shown_as(Card, lambda card: card.html)


__all__ = [
    "Card",
    "Number",
    "bullets",
    "element",
    "figure",
    "paragraph",
    "safe",
    "section",
    "shown_as",
    "table",
]


def __dir__():
    return __all__
