"""The examples of RFC 5545 for recurrence rules, on days instead of times."""

import datetime as dt

import pytest

from apps.calc.rhythm.expansion import hits
from apps.calc.rhythm.recurrence import recurrence_of

SOURCE = "RFC 5545 section 3.8.5.3, examples of recurrence rules"


def months(year: int, **days: str) -> list[dt.date]:
    """The days of a year as the standard prints them: sep="2-11,13"."""
    names = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
    found = []
    for name, text in days.items():
        for item in text.split(","):
            first, _mark, last = item.partition("-")
            found += [
                dt.date(year, names.index(name) + 1, day)
                for day in range(int(first), int(last or first) + 1)
            ]
    return found


Y97, Y98, Y99 = 1997, 1998, 1999
# rule, first day, the days that the standard prints, and whether the rule ends with them.
# UNTIL stands with a time there: before 9 in the morning the day itself is not in.
EXAMPLES = [
    ("FREQ=DAILY;COUNT=10", "1997-09-02", months(Y97, sep="2-11"), True),
    ("FREQ=DAILY;UNTIL=19971223", "1997-09-02",
     months(Y97, sep="2-30", oct="1-31", nov="1-30", dec="1-23"), True),
    ("FREQ=DAILY;INTERVAL=2", "1997-09-02",
     [dt.date(1997, 9, 2) + dt.timedelta(days=2 * n) for n in range(47)], False),
    ("FREQ=DAILY;INTERVAL=10;COUNT=5", "1997-09-02", months(Y97, sep="2,12,22", oct="2,12"), True),
    ("FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA", "1998-01-01",
     months(Y98, jan="1-31") + months(Y99, jan="1-31") + months(2000, jan="1-31"), True),
    ("FREQ=DAILY;UNTIL=20000131;BYMONTH=1", "1998-01-01",
     months(Y98, jan="1-31") + months(Y99, jan="1-31") + months(2000, jan="1-31"), True),
    ("FREQ=WEEKLY;COUNT=10", "1997-09-02",
     months(Y97, sep="2,9,16,23,30", oct="7,14,21,28", nov="4"), True),
    ("FREQ=WEEKLY;UNTIL=19971223", "1997-09-02",
     months(Y97, sep="2,9,16,23,30", oct="7,14,21,28", nov="4,11,18,25", dec="2,9,16,23"), True),
    ("FREQ=WEEKLY;INTERVAL=2;WKST=SU", "1997-09-02",
     months(Y97, sep="2,16,30", oct="14,28", nov="11,25", dec="9,23")
     + months(Y98, jan="6,20", feb="3,17"), False),
    ("FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH", "1997-09-02",
     months(Y97, sep="2,4,9,11,16,18,23,25,30", oct="2"), True),
    ("FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH", "1997-09-02",
     months(Y97, sep="2,4,9,11,16,18,23,25,30", oct="2"), True),
    ("FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR", "1997-09-01",
     months(Y97, sep="1,3,5,15,17,19,29", oct="1,3,13,15,17,27,29,31", nov="10,12,14,24,26,28",
            dec="8,10,12,22"), True),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", "1997-09-02",
     months(Y97, sep="2,4,16,18,30", oct="2,14,16"), True),
    ("FREQ=MONTHLY;COUNT=10;BYDAY=1FR", "1997-09-05",
     months(Y97, sep="5", oct="3", nov="7", dec="5")
     + months(Y98, jan="2", feb="6", mar="6", apr="3", may="1", jun="5"), True),
    ("FREQ=MONTHLY;UNTIL=19971223;BYDAY=1FR", "1997-09-05",
     months(Y97, sep="5", oct="3", nov="7", dec="5"), True),
    ("FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU", "1997-09-07",
     months(Y97, sep="7,28", nov="2,30") + months(Y98, jan="4,25", mar="1,29", may="3,31"), True),
    ("FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "1997-09-22",
     months(Y97, sep="22", oct="20", nov="17", dec="22") + months(Y98, jan="19", feb="16"), True),
    ("FREQ=MONTHLY;BYMONTHDAY=-3", "1997-09-28",
     months(Y97, sep="28", oct="29", nov="28", dec="29") + months(Y98, jan="29", feb="26"), False),
    ("FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15", "1997-09-02",
     months(Y97, sep="2,15", oct="2,15", nov="2,15", dec="2,15") + months(Y98, jan="2,15"), True),
    ("FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1", "1997-09-30",
     months(Y97, sep="30", oct="1,31", nov="1,30", dec="1,31")
     + months(Y98, jan="1,31", feb="1"), True),
    ("FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15", "1997-09-10",
     months(Y97, sep="10-15") + months(Y99, mar="10-13"), True),
    ("FREQ=MONTHLY;INTERVAL=2;BYDAY=TU", "1997-09-02",
     months(Y97, sep="2,9,16,23,30", nov="4,11,18,25")
     + months(Y98, jan="6,13,20,27", mar="3,10,17,24,31"), False),
    ("FREQ=YEARLY;COUNT=10;BYMONTH=6,7", "1997-06-10",
     [day for year in range(1997, 2002) for day in months(year, jun="10", jul="10")], True),
    ("FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3", "1997-03-10",
     months(Y97, mar="10")
     + [day for year in (1999, 2001, 2003) for day in months(year, jan="10", feb="10", mar="10")],
     True),
    ("FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200", "1997-01-01",
     months(Y97, jan="1", apr="10", jul="19") + months(2000, jan="1", apr="9", jul="18")
     + months(2003, jan="1", apr="10", jul="19") + months(2006, jan="1"), True),
    ("FREQ=YEARLY;BYDAY=20MO", "1997-05-19",
     months(Y97, may="19") + months(Y98, may="18") + months(Y99, may="17"), False),
    ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997-05-12",
     months(Y97, may="12") + months(Y98, may="11") + months(Y99, may="17"), False),
    ("FREQ=YEARLY;BYMONTH=3;BYDAY=TH", "1997-03-13",
     months(Y97, mar="13,20,27") + months(Y98, mar="5,12,19,26")
     + months(Y99, mar="4,11,18,25"), False),
    ("FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8", "1997-06-05",
     months(Y97, jun="5,12,19,26", jul="3,10,17,24,31", aug="7,14,21,28")
     + months(Y98, jun="4,11,18,25", jul="2,9,16,23,30", aug="6,13,20,27")
     + months(Y99, jun="3,10,17,24", jul="1,8,15,22,29", aug="5,12,19,26"), False),
    ("FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13", "1997-09-02",
     months(Y98, feb="13", mar="13", nov="13") + months(Y99, aug="13")
     + months(2000, oct="13"), False),
    ("FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13", "1997-09-13",
     months(Y97, sep="13", oct="11", nov="8", dec="13")
     + months(Y98, jan="10", feb="7", mar="7", apr="11", may="9", jun="13"), False),
    ("FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8", "1996-11-05",
     months(1996, nov="5") + months(2000, nov="7") + months(2004, nov="2"), False),
    ("FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997-09-04",
     months(Y97, sep="4", oct="7", nov="6"), True),
    ("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2", "1997-09-29",
     months(Y97, sep="29", oct="30", nov="27", dec="30")
     + months(Y98, jan="29", feb="26", mar="30"), False),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997-08-05",
     months(Y97, aug="5,10,19,24"), True),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997-08-05",
     months(Y97, aug="5,17,19,31"), True),
    ("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007-01-15",
     months(2007, jan="15,30", feb="15", mar="15,30"), True),
]  # fmt: skip


@pytest.mark.outside(source=SOURCE, kind="read", tolerance=0, absolute=True)
@pytest.mark.parametrize(("text", "start", "days", "ends"), EXAMPLES, ids=[e[0] for e in EXAMPLES])
def test_example(text, start, days, ends, outside):
    found = hits(
        recurrence_of(text), dt.date.fromisoformat(start), years=20,
        most=len(days) + 1 if ends else len(days),
    )  # fmt: skip
    assert len(found) == len(days)
    for ours, theirs in zip(found, days, strict=True):
        outside(ours.toordinal(), theirs.toordinal())
