"""The names of what is given to water and plants, for staff and clients alike: code to name."""

_ = str

SUBSTANCE_WORDS: dict[str, str] = {
    "KHCO3": _("potassium bicarbonate"),
    "NaHCO3": _("sodium bicarbonate (baking soda)"),
    "CaCO3": _("calcium carbonate"),
    "K2CO3": _("potassium carbonate"),
    "Ca(OH)2": _("hydrated lime"),
    "KOH": _("potassium hydroxide"),
    "KCl": _("potassium chloride"),
    "KNO3": _("potassium nitrate"),
    "5Ca(NO3)2.NH4NO3.10H2O": _("calcium nitrate, fertiliser grade"),
    "NH4H2PO4": _("monoammonium phosphate"),
    "K2SO4": _("potassium sulfate"),
    "KH2PO4": _("monopotassium phosphate"),
    "MgSO4.7H2O": _("magnesium sulfate (Epsom salt)"),
    "CaCl2.2H2O": _("calcium chloride dihydrate"),
    "NaCl": _("salt without iodine or additives"),
    "NH4Cl": _("ammonium chloride"),
    "Fe-EDTA 13 %": _("iron chelate EDTA, 13 % iron"),
    "Fe-DTPA 11 %": _("iron chelate DTPA, 11 % iron"),
    "Fe-EDDHA 6 %": _("iron chelate EDDHA, 6 % iron"),
    "HCl 37 %": _("hydrochloric acid 37 %, into 1000 L of source water"),
    "HCl": _("hydrochloric acid, into the barrel of source water"),
    "H3PO4": _("phosphoric acid, into the barrel of source water"),
    "sodium thiosulfate": _("sodium thiosulfate"),
    "water to the soil garden": _("water to the soil garden"),
}
