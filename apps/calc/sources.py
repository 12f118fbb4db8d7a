"""Where the figures come from: one entry per source, with how the figure is known."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """A citation and its kind: read, computed, memory or common practice."""

    key: str
    citation: str
    kind: str


KINDS: tuple[str, ...] = ("read", "computed", "memory", "common practice")

SOURCES: dict[str, Source] = {
    key: Source(key, citation, kind)
    for key, citation, kind in (
        (
            "emerson1975",
            "Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383",
            "memory",
        ),
        (
            "fa16",
            "Francis-Floyd, Watson, Petty & Pouder, Ammonia in Aquatic Systems, Univ. Florida FA16",
            "read",
        ),
        ("epa2013", "US EPA 2013, Aquatic life criteria for ammonia, freshwater", "memory"),
        (
            "asce2006",
            "ASCE/EWRI 2-06, Measurement of oxygen transfer in clean water",
            "memory",
        ),
        ("davidson2005", "Davidson & Summerfelt 2005, Aquac. Eng. 33:47-61", "read"),
        (
            "ricker1975",
            "Ricker 1975, Biological statistics of fish populations, Fish. Res. Board Can. Bull. 191",
            "memory",
        ),
        (
            "faust2018",
            "Faust & Logan 2018, HortScience 53:1250-1257, daily light integral",
            "memory",
        ),
        ("benson1984", "Benson & Krause 1984, Limnol. Oceanogr. 29:620-632", "memory"),
        ("en25814", "EN 25814, table of the solubility of oxygen in water", "read"),
        ("plummer1982", "Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011-1040", "read"),
        ("davies1962", "Davies 1962, Ion Association, Butterworths", "memory"),
        ("apha2510", "Standard Methods 2510 B, conductivity", "memory"),
        ("timmons", "Timmons & Ebeling, Recirculating Aquaculture", "memory"),
        (
            "ebeling2006",
            "Ebeling, Timmons & Bisogni 2006, Aquaculture 257:346-358",
            "memory",
        ),
        (
            "rusten2006",
            "Rusten, Eikebrokk, Ulgenes & Lygren 2006, Aquac. Eng. 34:322-331",
            "memory",
        ),
        (
            "fao589",
            "Somerville et al. 2014, Small-scale aquaponic food production, FAO Technical Paper 589",
            "read",
        ),
        ("rakocy2007", "Rakocy 2007, Ten guidelines for aquaponic systems", "read"),
        ("srac462", "SRAC Publication 462, Nitrite in fish ponds", "read"),
        ("srac463", "SRAC Publication 463, Ammonia in fish ponds", "memory"),
        ("srac282", "SRAC Publications 282 and 283, Tank culture and feeding of tilapia", "memory"),
        (
            "tomasso1986",
            "Tomasso 1986, Comparative toxicity of nitrite to fresh-water fish",
            "read",
        ),
        ("iwama1981", "Iwama & Tautz 1981, Can. J. Fish. Aquat. Sci. 38:649-656", "read"),
        ("fulton", "Froese 2006, J. Appl. Ichthyol. 22:241-253", "read"),
        ("ficke_fao", "FAO AFFRIS and FAO species fact sheets", "read"),
        (
            "carp1984",
            "Aquaculture 36:27-35 (1984), growth and ration of juvenile common carp",
            "read",
        ),
        ("ncrac", "NCRAC white paper on yellow perch", "read"),
        (
            "fao56",
            "Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56",
            "memory",
        ),
        ("wilson1927", "Wilson 1927, J. Am. Stat. Assoc. 22:209-212", "memory"),
        ("student1908", "Student 1908, Biometrika 6:1-25; Cochran, Sampling Techniques", "memory"),
        ("sen1968", "Sen 1968, J. Am. Stat. Assoc. 63:1379-1389", "memory"),
        ("mann1945", "Mann 1945, Econometrica 13:245-259", "memory"),
        ("kendall1970", "Kendall 1970, Rank Correlation Methods, 4th edition, Griffin", "memory"),
        ("hampel1974", "Hampel 1974, J. Am. Stat. Assoc. 69:383-393", "memory"),
        ("nist", "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17 and 6.3.2", "memory"),
        ("fieller1954", "Fieller 1954, J. R. Stat. Soc. B 16:175-185", "memory"),
        ("swamee1976", "Swamee & Jain 1976, J. Hydraul. Div. ASCE 102:657-664", "memory"),
        (
            "hoagland1950",
            "Hoagland & Arnon 1950, The water-culture method, California Agric. Exp. Stn. Circular 347",
            "read",
        ),
        (
            "lawson_hanson1974",
            "Lawson & Hanson 1974, Solving Least Squares Problems, chapter 23",
            "memory",
        ),
        ("sonneveld1999", "Sonneveld, Voogt & Spaans 1999, Acta Hortic. 481:331-340", "memory"),
        (
            "crc",
            "CRC Handbook of Chemistry and Physics, solubility of inorganic compounds",
            "memory",
        ),
        (
            "harrington_minges1954",
            "Harrington & Minges 1954, Vegetable seed germination, through Knott's Handbook",
            "read",
        ),
        ("chemistry", "Stoichiometry with IUPAC standard atomic weights", "computed"),
        ("geometry", "Geometry of the solid", "computed"),
        (
            "practice",
            "Common practice in small systems; the firm confirms or changes it",
            "common practice",
        ),
    )
}


def cite(*keys: str) -> str:
    """Return the citations of ``keys``, joined for print; an unknown key raises KeyError.

    >>> cite("geometry")
    'Geometry of the solid (computed)'
    """
    return "; ".join(f"{SOURCES[key].citation} ({SOURCES[key].kind})" for key in keys)
