"""Pieces of HTML. Whatever comes from a user passes through ``safe``, here and nowhere else."""

import html


def safe(text):
    """Any value as text that HTML shows as it is.

    >>> safe("<b>&'")
    '&lt;b&gt;&amp;&#x27;'
    """
    return html.escape(str(text), quote=True)


def element(tag, inner, css=""):
    """``<tag>`` round ``inner``, which is HTML already; ``css`` a class of the page's style."""
    return f'<{tag} class="{css}">{inner}</{tag}>' if css else f"<{tag}>{inner}</{tag}>"


def paragraph(text, css=""):
    """A paragraph of plain ``text``; ``css`` a class of the page's style."""
    return element("p", safe(text), css)


def bullets(texts):
    """A list of plain ``texts``; nothing at all for none."""
    items = "".join(element("li", safe(t)) for t in texts)
    return element("ul", items) if items else ""


def section(title, *parts, css=""):
    """A section under a plain ``title``; ``parts`` are HTML already; ``css`` a class."""
    return element("section", "\n".join([element("h2", safe(title)), *parts]), css)


def table(headers, groups, css=""):
    """A table of plain text.

    Parameters: ``headers`` of the columns, a Number over numbers; ``groups`` pairs of a heading
    ("" for none) and rows, each a sequence of cells; a Number stands right; ``css`` a class.

    >>> table(["a"], [("", [["<"]])])
    '<table><thead><tr><th scope="col">a</th></tr></thead><tbody><tr><td>&lt;</td></tr></tbody></table>'
    """
    head = "".join(_title(h) for h in headers)
    body = ""
    for heading, rows in groups:
        if heading:
            span = f'<th colspan="{len(headers)}" scope="rowgroup">{safe(heading)}</th>'
            body += element("tr", span, "group")
        body += "".join(element("tr", "".join(map(_cell, row))) for row in rows)
    return element("table", f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>", css)


def _title(header):
    css = ' class="number"' if isinstance(header, Number) else ""
    return f'<th scope="col"{css}>{safe(header)}</th>'


def _cell(value):
    number = isinstance(value, Number)
    return element("td", safe(value), "number" if number else "")


class Number(str):
    """Text that is a number: it stands right in its column."""

    __slots__ = ()


def figure(picture, caption):
    """A Picture with its alternative text, inside the page, over a plain ``caption``."""
    return element("figure", picture.img(160) + element("figcaption", safe(caption)))
