"""GS1: keys with their check digits, element strings, dates and Digital Link addresses.

For farms that have a company prefix from a GS1 member organisation; nothing here hands one out. Rules follow the GS1
General Specifications (sections 2, 3 and 7) and the GS1 Digital Link standard; what was not looked up is marked "from
memory" where it stands, and the published checks are in `tests/published/test_codes.py`.
"""

from trayward.codes.gs1.dates import date_field, read_date
from trayward.codes.gs1.elements import GS, Element, bracketed, element_string, read_elements
from trayward.codes.gs1.fields import Field, field_of, require_value
from trayward.codes.gs1.keys import check_digit, gln, gtin13, gtin14, is_valid_key, require_key, require_prefix, sscc
from trayward.codes.gs1.link import digital_link, read_digital_link
from trayward.codes.gs1.weights import read_weight, weight_element

__all__ = [
    "GS",
    "Element",
    "Field",
    "bracketed",
    "check_digit",
    "date_field",
    "digital_link",
    "element_string",
    "field_of",
    "gln",
    "gtin13",
    "gtin14",
    "is_valid_key",
    "read_date",
    "read_digital_link",
    "read_elements",
    "read_weight",
    "require_key",
    "require_prefix",
    "require_value",
    "sscc",
    "weight_element",
]
