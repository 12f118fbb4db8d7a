"""What the translation knows of Python: names, what they are called in JavaScript, who holds them."""

from datetime import date


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# words of the language, and P, under which all that stands in for Python is held
RESERVED = _words(
    """P await case catch const debugger default delete do enum export extends function implements
    instanceof interface let new null package private protected public static super switch this
    throw typeof undefined var void yield arguments eval"""
)
# Python's own names, which py.js holds under the same ones
BUILTINS = _words(
    """abs all any bool dict enumerate float frozenset getattr int isinstance len list max min next
    range round set sorted str sum tuple zip AssertionError KeyError TypeError ValueError"""
)
MATH = {"inf": "Infinity", "pi": "Math.PI", "e": "Math.E", "nan": "NaN"}
MATH_WORK = _words(
    """exp log log10 log1p sqrt cbrt pow sin cos tan acos radians ceil floor isfinite isinf isnan
    lgamma"""
)
# what py.js holds of Python's library; any other name of these modules has no translation
LIBRARY = {
    "dataclasses": _words("replace"),
    "datetime": _words("date timedelta"),
    "html": _words("escape"),
    "itertools": _words("pairwise combinations"),
    "math": MATH_WORK | frozenset(MATH),
    "statistics": _words("median fmean stdev"),
    "types": _words("MappingProxyType"),
}
# what our own Python takes from Django for text; py.js has the same names
FROM_DJANGO = _words("gettext gettext_lazy SafeString")
# decorators that the translation does without: pure functions need no memory
UNSAID = _words("lru_cache cache")
# methods that JavaScript's own strings, arrays and our dictionaries do not have: the least and the
# most that each takes, so that none is translated whose last argument would be dropped
METHODS = {
    "append": (1, 1), "add": (1, 1), "extend": (1, 1), "insert": (2, 2), "pop": (0, 2),
    "index": (1, 1), "count": (1, 1), "copy": (0, 0), "items": (0, 0), "keys": (0, 0),
    "values": (0, 0), "get": (1, 2), "update": (1, 1), "intersection": (1, 1), "join": (1, 1),
    "split": (0, 1), "strip": (0, 0), "rstrip": (1, 1), "startswith": (1, 1), "endswith": (1, 1),
    "replace": (2, 2), "lower": (0, 0), "upper": (0, 0), "isoformat": (0, 0), "toordinal": (0, 0),
}  # fmt: skip
# functions of py.js that take arguments by name
KEYWORDED = _words("max min sorted zip replace timedelta dict escape")
# the other methods of Python's own types
FOREIGN = frozenset(
    name
    for kind in (str, list, dict, set, float, date)
    for name in dir(kind)
    if not name.startswith("_") and callable(getattr(kind, name)) and name not in METHODS
)


class NotTranslatable(ValueError):
    """A piece of Python that has no translation here; names the file and the line."""


def name_of(name: str) -> str:
    """Return a name that JavaScript takes."""
    return f"{name}_" if name in RESERVED else name


def held(module: str, name: str) -> str | None:
    """Return what stands for a name of Python's library, None where nothing does."""
    if name not in LIBRARY.get(module, ()):
        return None
    if module == "math":
        return MATH.get(name, f"P.math.{name}")
    return f"P.{name_of(name)}"
