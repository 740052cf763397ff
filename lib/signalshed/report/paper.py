"""What every printed page stands on: its file, the one style sheet, nothing from outside."""

from importlib import resources
from pathlib import Path

from ..markup import safe
from ..tables import write_atomic
from ..units import check_type


def html_path(path, what):
    """``path`` of a page's file as a Path; ValueError unless it ends in .html or .htm.

    Parameters: ``what`` the page is called in that sentence.

    >>> html_path("my_roof.txt", "report")
    Traceback (most recent call last):
    ValueError: path is 'my_roof.txt'; the report's file must end in .html.
    """
    check_type("path", path, (str, Path), "the name of a file, as 'my_roof.html'")
    path = Path(path)
    if path.suffix.lower() not in (".html", ".htm"):
        raise ValueError(f"path is {str(path)!r}; the {what}'s file must end in .html.")
    return path


def write_page(path, what, page, *arguments):
    """Write what ``page(*arguments)`` gives to an HTML file: the Path. ``path``, ``what`` as above.

    A file that is there is replaced, at once or not at all. Raises tables.CannotSave.
    """
    path = html_path(path, what)
    write_atomic(path, page(*arguments))
    return path


def document(title, body, css=""):
    """A whole page under a plain ``title``: no script, no outside request.

    Parameters: ``body`` HTML already; ``css`` rules of this page, after those of all pages.
    """
    style = (resources.files(__package__) / "page.css").read_text(encoding="utf-8")
    policy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{safe(title)}</title>\n<style>\n{style}{css}</style>\n</head>\n"
        f"<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )
