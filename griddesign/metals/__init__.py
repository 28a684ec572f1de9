"""The metals: figures with range, status and source, resistance and specific heat against temperature."""

from griddesign.metals.entries import TO_SI, Entry
from griddesign.metals.measured import alpha_from_two, resistivity_from
from griddesign.metals.record import COLD_C, FIELDS, Metal
from griddesign.metals.samples import Sample, samples
from griddesign.metals.tables import Source, metal, metal_entries, metal_keys, shop_table, shop_table_names, source

__all__ = [
    "COLD_C",
    "FIELDS",
    "TO_SI",
    "Entry",
    "Metal",
    "Sample",
    "Source",
    "alpha_from_two",
    "metal",
    "metal_entries",
    "metal_keys",
    "resistivity_from",
    "samples",
    "shop_table",
    "shop_table_names",
    "source",
]
