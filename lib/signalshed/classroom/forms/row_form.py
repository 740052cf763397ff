"""One machine for forms over a file of rows: choose one, see what the file says, save the change."""

import ipywidgets

from ...markup import safe
from ..showing import button
from .fields import Form, answers, choice

NEW = "a new one"


class RowForm(Form):
    """A form over a file of named rows, one shown at a time, or a new one.

    A form of this kind says ``names()``, what ``show`` puts into the fields for one name (NEW: blank),
    and what ``write`` does with the answers that were changed. Buttons stay where they are.
    Parameters: ``title``; ``what`` a row is called; ``fields`` a dict of Fields; ``below`` widgets under
    them.
    """

    def __init__(self, title, what, fields, below=()):
        self.fields = fields
        self.which = choice(f"Which {what}", [(NEW, NEW), *((n, n) for n in self.names())], NEW)
        self.which.widget.observe(lambda _: self.pick(), "value")
        self.save_button = button("Save", self.save, "primary")
        self.remove_button = button("Take it out", self.remove)
        self.view = ipywidgets.HTML()
        rows = [field.widget for field in fields.values()]
        buttons = ipywidgets.HBox([self.save_button, self.remove_button])
        widgets = [self.view, self.which.widget, *rows, buttons, *below]
        super().__init__(title, [self.which, *fields.values()], widgets)
        self.view.value = self.table_html()

    def pick(self):
        """Fill the fields with what the file says of the row that is chosen."""
        self.attempt(lambda: self.show(self.which.widget.value) or "")

    def save(self):
        """Write what was changed; everything else in the file stays."""
        self.attempt(self._save)

    def remove(self):
        """Take the chosen row out of the file; the old file stays beside it."""
        self.attempt(self._remove)

    def _save(self):
        name = self.which.widget.value
        changed = answers(self.fields, only_changed=True)
        if not changed:
            return "Nothing was changed, so nothing is written."
        said = self.write(None if name == NEW else name, changed)
        self._again(self.saved_name(name))
        return said

    def _remove(self):
        name = self.which.widget.value
        if name == NEW:
            return "Choose first which one to take out."
        said = self.take_out(name)
        self._again(NEW)
        return said

    def saved_name(self, name):
        """What a row is called after it was saved, ``name`` before."""
        return name

    def _again(self, name):
        """The rows as they are in the file now, with one of them chosen."""
        names = self.names()
        self.which.widget.options = [(NEW, NEW), *((n, n) for n in names)]
        self.which.widget.value = name if name in names else NEW
        self.show(self.which.widget.value)
        self.view.value = self.table_html()

    def table_html(self):
        """What stands above the fields: the rows of the file."""
        return safe("")
