"""How wide a line of text will be: the advance widths of our own faces, so that labels keep apart.

Widths are in thousandths of the type size, read from the fonts under fonts/ for the
characters from space to tilde. Digits are counted at their tabular width, the wider of the two.
"""

from __future__ import annotations

_SANS_400 = (
    "280 286 301 651 592 919 731 160 299 299 485 606 210 362 210 387 648 648 648 648 648 648 648 "
    "648 648 648 210 210 553 628 553 480 778 626 613 645 669 569 552 694 694 392 512 631 541 824 "
    "693 714 592 724 614 592 558 690 593 856 623 575 607 317 387 344 552 372 243 525 566 485 564 "
    "538 314 558 550 252 245 492 262 845 550 548 566 574 349 471 326 540 461 684 481 449 460 344 "
    "237 344 555"
)
_SANS_600 = (
    "303 298 362 730 604 953 727 195 324 324 485 598 252 369 253 424 656 656 656 656 656 656 656 "
    "656 656 656 253 253 564 617 564 526 780 662 634 654 683 589 562 711 699 415 546 654 548 848 "
    "710 737 617 747 639 604 592 687 628 877 666 627 615 333 424 344 573 391 274 544 587 502 586 "
    "555 349 582 565 285 255 536 301 870 565 567 587 591 368 497 360 559 509 723 522 499 492 370 "
    "249 370 543"
)
_SERIF_600 = (
    "200 331 417 683 581 884 825 248 347 347 450 582 327 345 330 463 601 601 601 601 601 601 601 "
    "601 601 601 330 327 582 582 582 550 906 746 678 705 773 652 629 761 840 414 568 772 643 993 "
    "835 770 633 776 736 607 742 795 749 1100 736 732 674 345 465 345 582 470 500 562 632 525 640 "
    "547 411 586 678 352 326 646 351 986 681 609 643 625 514 479 424 659 609 883 588 596 514 370 "
    "433 370 582"
)


def _table(widths: str) -> dict[str, int]:
    return {chr(32 + place): int(width) for place, width in enumerate(widths.split())}


_TABLES = {
    (False, False): _table(_SANS_400),
    (False, True): _table(_SANS_600),
    (True, True): _table(_SERIF_600),
    (True, False): _table(_SERIF_600),
}
_NARROW = {
    "·": 260,
    "°": 370,
    "\u00a0": 290,
    "\u202f": 200,
    "’": 220,
    "²": 390,
    "³": 390,
    "\u2068": 0,
    "\u2069": 0,
}
_OTHER = 640


def text_width(text: str, size: float, *, weight: int = 400, serif: bool = False) -> float:
    """Width of one line [px] at a type size [px]; letters outside the table count as wide ones."""
    table = _TABLES[serif, weight >= 550]
    units = sum(table.get(letter) or _NARROW.get(letter, _OTHER) for letter in text)
    return units * size / 1000


def wrap(text: str, limit: float, size: float, *, weight: int = 400) -> list[str]:
    """Break a text at spaces so that each line is at most `limit` px wide where words allow."""
    lines: list[str] = []
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size, weight=weight) <= limit:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines
