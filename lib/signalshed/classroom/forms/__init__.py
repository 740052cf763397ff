"""Forms for whoever would rather not edit text files: they show what a file says, and save the change.

==============  ==============================================================================
site_form       ``SiteForm``: a roof in plain words, over site.toml
stations_form   ``StationsForm``: stations.csv as a table, row by row, and a box for a paste
antennas_form   ``AntennasForm``: antennas from a label, a build, own wires or a trial
readings_form   ``ReadingsForm``: one press per reading; proposes the next, takes the last back
row_form        ``RowForm``: what forms over a file of rows share
fields          ``Form``, ``Field``, ``Mistakes``: questions, answers and sentences of all
==============  ==============================================================================
"""

from .antennas_form import AntennasForm
from .fields import Field, Form, Mistakes
from .readings_form import ReadingsForm
from .row_form import RowForm
from .site_form import SiteForm
from .stations_form import StationsForm
