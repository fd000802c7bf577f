"""Lengths, areas, volumes and money between people and the SI floats inside: the only converter.

Inside the program a length is a float in metres, an area m², a volume litres, a mass kilograms, a film metres. Text is
read by `parse_length` and `door_size`; figures are shown by a `Display`, which knows the person's unit system.
"""

from takeoff.units.reading import door_size as door_size
from takeoff.units.reading import parse_count as parse_count
from takeoff.units.reading import parse_height as parse_height
from takeoff.units.reading import parse_length as parse_length
from takeoff.units.reading import room_sides as room_sides
from takeoff.units.showing import FOOT as FOOT
from takeoff.units.showing import INCH as INCH
from takeoff.units.showing import MIL as MIL
from takeoff.units.showing import OUNCE as OUNCE
from takeoff.units.showing import POUND as POUND
from takeoff.units.showing import PRECISIONS as PRECISIONS
from takeoff.units.showing import SQUARE_FOOT as SQUARE_FOOT
from takeoff.units.showing import US_GALLON_LITRES as US_GALLON_LITRES
from takeoff.units.showing import Display as Display
from takeoff.units.showing import Figure as Figure
from takeoff.units.showing import UnitSystem as UnitSystem
from takeoff.units.showing import figure_value as figure_value
from takeoff.units.showing import format_figure as format_figure
from takeoff.units.showing import format_length as format_length
from takeoff.units.showing import format_money as format_money
from takeoff.units.showing import in_units as in_units
from takeoff.units.showing import signed as signed
from takeoff.units.showing import usual_size as usual_size
