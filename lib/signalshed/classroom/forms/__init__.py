"""Forms for whoever would rather not edit text files: a roof, and readings at it.

=============  ===============================================================================
site_form      ``SiteForm``: a roof in plain words; one press writes site.toml
readings_form  ``ReadingsForm``: one press per reading; proposes the next, takes the last back
fields         ``Form``, ``Field``, ``Mistakes``: questions, answers and sentences of both
=============  ===============================================================================
"""

from .fields import Field, Form, Mistakes
from .readings_form import ReadingsForm
from .site_form import SiteForm

__all__ = ["Field", "Form", "Mistakes", "ReadingsForm", "SiteForm"]
