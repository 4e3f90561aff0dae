"""Sizes as smiths type them, read exactly.

The rules of reading, the same in every language of the system:

- A dot and a comma both mark decimals: `28.6` is `28,6`. Figures are never grouped; where two marks make
  a number read two ways it is refused.
- `3/16` is a fraction. A whole number and a fraction behind it, with a space or a hyphen that touches
  both, are one number: `1 1/8` and `1-1/8` are nine eighths. A minus with a space beside it takes away:
  `1 - 1/8` is seven eighths. Such numbers bind before + - * / do.
- Inches behind feet are added: `2 ft 3 in`, `2'3"`, `2'-3 1/2"`.
- A number without a unit is in the units asked for. In a sum it may stand beside such sizes only: what
  `1 - 1/8"` means where millimetres are asked for nobody can tell, so it is refused.

Limits of a size are the caller's business.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple, NoReturn

from patternsim.errors import UsageError
from patternsim.sizes.signs import (
    ADDED,
    ALIKE,
    EXAMPLES,
    FACTORS,
    LENGTH_EXAMPLE,
    LENGTH_WORDS,
    NUMBER_WORDS,
    TOKEN,
    VULGAR,
    Ruler,
    Token,
    Units,
)

LONGEST = 400
"""Signs a text may have; every float can be written with fewer."""
MOST_BRACKETS = 20


class SizeError(UsageError):
    """A text that is no size: says what was read, where it fails and what would do."""


def parse_length(text: str, units: Units) -> Fraction:
    """Return the length `text` stands for, mm, exactly.

    Parameters
    ----------
    text : str
        As typed: '3/16', '1 1/8"', '28,6 mm', '2 ft 3 in', '2*1 1/8"'.
    units : {'mm', 'in'}
        What a number without a unit is in.

    Raises
    ------
    SizeError
        If it cannot be read, or could be read two ways.

    Examples
    --------
    >>> parse_length('1 1/8"', "mm"), parse_length("28,6", "mm"), parse_length("1/2", "in")
    (Fraction(1143, 40), Fraction(143, 5), Fraction(127, 10))
    """
    ruler = Ruler(words=LENGTH_WORDS, bare=units, example=LENGTH_EXAMPLE, factors=FACTORS)
    return _Reader(text, ruler).result()


def parse_number(text: str, unit: str = "") -> Fraction:
    """Return the number `text` stands for, in `unit`, exactly.

    Parameters
    ----------
    text : str
        As typed: '45', '22 1/2', '12,5 %', '2100 F'.
    unit : str
        '' for a pure number, 'deg', '%', 'degC' (degrees Fahrenheit are turned into Celsius), or another
        unit, which may then be written out as it is.

    Raises
    ------
    SizeError
        If it cannot be read, or could be read two ways.

    Examples
    --------
    >>> parse_number("22 1/2 deg", "deg"), parse_number("212 F", "degC")
    (Fraction(45, 2), Fraction(100, 1))
    """
    words = NUMBER_WORDS.get(unit, {unit.casefold(): unit} if unit else {})
    return _Reader(text, Ruler(words=words, bare=unit, example=EXAMPLES.get(unit, "4 or 12.5"))).result()


class _Amount(NamedTuple):
    """A number in a unit; None where none was written."""

    number: Fraction
    unit: str | None


class _Reader:
    """Reads one text from left to right: sums of products of amounts."""

    def __init__(self, text: str, ruler: Ruler) -> None:
        self._text = text
        self._ruler = ruler
        self._open = 0
        if len(text) > LONGEST:
            self._text = text[:20] + "..."
            self._fail(f"it is longer than {LONGEST} signs", 0)
        self._tokens = list(self._split(text.translate(ALIKE)))
        self._next = 0

    def result(self) -> Fraction:
        """Return the whole text as a number in the base unit."""
        if not self._tokens:
            self._fail("nothing is written", 0)
        amount = self._sum()
        token = self._peek()
        if token is not None:
            self._fail(self._left_over(token), token.start)
        number = _in_base(self._ruler, amount)
        try:
            float(number)
        except OverflowError:
            self._fail("it is too large", 0)
        return number

    def _split(self, text: str) -> Iterator[Token]:
        at = 0
        while at < len(text):
            found = TOKEN.match(text, at)
            if found is None:
                sign = text[at]
                times = sign in "×·"
                self._fail("use * to multiply" if times else "this sign means nothing here", at)
            if found.lastgroup != "gap":
                yield Token(str(found.lastgroup), found.group(), at, found.end())
            at = found.end()

    # --- sums and products

    def _sum(self) -> _Amount:
        total = self._product()
        while (sign := self._take_sign("+-−")) is not None:
            if self._is_sign(0, "+-−"):
                self._fail("there are two signs in a row", sign.start)
            part = self._product()
            total = self._added(total, part if sign.text == "+" else _negative(part), sign.start)
        return total

    def _product(self) -> _Amount:
        result = self._signed()
        while (sign := self._take_sign("*/")) is not None:
            by = self._signed()
            if "degF" in (result.unit, by.unit):
                self._fail(_ALONE, sign.start)
            if sign.text == "*":
                if result.unit is not None and by.unit is not None:
                    self._fail("of two amounts multiplied only one may have a unit", sign.start)
                result = _Amount(result.number * by.number, result.unit or by.unit)
            elif by.unit is not None:
                self._fail(
                    "it divides by an amount with a unit; a fraction is written without spaces, 3/16",
                    sign.start,
                )
            else:
                result = _Amount(self._ratio(result.number, by.number, sign.start), result.unit)
        return result

    def _signed(self) -> _Amount:
        if (sign := self._take_sign("+-−")) is not None:
            if self._is_sign(0, "+-−"):
                self._fail("there are two signs in a row", sign.start)
            amount = self._amount()
            return amount if sign.text == "+" else _negative(amount)
        return self._amount()

    def _added(self, left: _Amount, right: _Amount, at: int) -> _Amount:
        if "degF" in (left.unit, right.unit):
            self._fail(_ALONE, at)
        if left.unit == right.unit:
            return _Amount(left.number + right.number, left.unit)
        if left.unit is None or right.unit is None:
            unit = left.unit or right.unit
            if unit != self._ruler.bare:
                self._fail("one of the two has no unit; write the unit at both", at)
            return _Amount(left.number + right.number, unit)
        return _Amount(_in_base(self._ruler, left) + _in_base(self._ruler, right), ADDED)

    # --- amounts

    def _amount(self) -> _Amount:
        opened = self._take_sign("(")
        if opened is None:
            return self._with_inches(self._with_unit(_Amount(self._number(), None)))
        self._open += 1
        if self._open > MOST_BRACKETS:
            self._fail(f"there are more than {MOST_BRACKETS} brackets in one another", opened.start)
        inner = self._sum()
        if self._take_sign(")") is None:
            token = self._peek()
            if token is None:
                self._fail('a bracket is not closed; add ")"', opened.start)
            self._fail(self._left_over(token), token.start)
        self._open -= 1
        return self._with_unit(inner)

    def _with_unit(self, amount: _Amount) -> _Amount:
        token = self._peek()
        if token is None or token.kind != "word":
            return amount
        unit = self._unit(token)
        if amount.unit is not None:
            self._fail("there is a unit already", token.start)
        self._next += 1
        return _Amount(amount.number, unit)

    def _unit(self, token: Token) -> str:
        word = token.text.casefold().rstrip(".").replace("° ", "°")
        if word in self._ruler.words:
            return self._ruler.words[word]
        if word == "x":
            self._fail("use * to multiply", token.start)
        known = [unit for unit in dict.fromkeys(self._ruler.words.values()) if unit]
        names = {"degC": "C", "degF": "F"}
        listed = ", ".join(names.get(unit, unit) for unit in known)
        self._fail(f"the units here are {listed}" if known else "there is no unit here", token.start)

    def _with_inches(self, feet: _Amount) -> _Amount:
        """Return feet with the inches that stand behind them: 2 ft 3 in, 2'3, 2'-3"."""
        if feet.unit != "ft" or self._ruler.bare not in ("mm", "in"):
            return feet
        if self._is_sign(0, "-") and self._tight(-1, 0, 1) and self._kind(1) in ("number", "vulgar"):
            self._next += 1
        token = self._peek()
        if token is None or token.kind not in ("number", "vulgar"):
            return feet
        inches = self._with_unit(_Amount(self._number(), None))
        if inches.unit not in (None, "in"):
            self._fail("behind feet only inches may stand; put + between other sizes", token.start)
        if inches.number >= 12:
            self._fail("inches behind feet are less than 12, and figures are not grouped", token.start)
        return _Amount(12 * feet.number + inches.number, "in")

    # --- numbers

    def _number(self) -> Fraction:
        token = self._peek()
        if token is None:
            self._fail("it ends too early; a number is missing at its end", None)
        if token.kind not in ("number", "vulgar"):
            self._fail("a number should stand here", token.start)
        self._next += 1
        if token.kind == "vulgar":
            return Fraction(VULGAR[token.text])
        if self._kind(0) == "sign" and self._is_fraction(-1):
            return self._fraction(token)
        if not token.text.isdigit():
            return self._decimal(token)
        return Fraction(token.text) + self._fraction_behind(token)

    def _fraction_behind(self, whole: Token) -> Fraction:
        """Return the fraction of a mixed number; nought where none stands there."""
        hyphen = self._is_sign(0, "-") and self._tight(-1, 0, 1)
        ahead = 1 if hyphen else 0
        if self._kind(ahead) != "vulgar" and not (self._is_fraction(ahead) and self._plain(ahead)):
            return Fraction(0)
        self._next += ahead + 1
        token = self._tokens[self._next - 1]
        part = Fraction(VULGAR[token.text]) if token.kind == "vulgar" else self._fraction(token)
        if part >= 1:
            self._fail(
                "behind a whole number a fraction is less than one; to take away, put spaces round "
                "the minus",
                whole.start,
            )
        return part

    def _fraction(self, over: Token) -> Fraction:
        """Return the fraction whose upper number was taken last."""
        under = self._tokens[self._next + 1]
        self._next += 2
        if self._is_sign(0, "/") and self._tight(-1, 0, 1):
            self._fail("two slashes read two ways; put brackets round one part", over.start)
        return self._ratio(self._decimal(over), self._decimal(under), over.start)

    def _ratio(self, over: Fraction, under: Fraction, at: int) -> Fraction:
        if under == 0:
            self._fail("it divides by nought", at)
        return over / under

    def _decimal(self, token: Token) -> Fraction:
        text = token.text
        if text.count(".") + text.count(",") > 1:
            self._fail(
                "more than one decimal mark; write 1234.5 or 1234,5, figures not grouped", token.start
            )
        return Fraction(text.replace(",", "."))

    # --- looking ahead: counted from the next token, -1 is the one taken last

    def _peek(self) -> Token | None:
        return self._tokens[self._next] if self._next < len(self._tokens) else None

    def _kind(self, ahead: int) -> str:
        at = self._next + ahead
        return self._tokens[at].kind if 0 <= at < len(self._tokens) else ""

    def _is_sign(self, ahead: int, signs: str) -> bool:
        return self._kind(ahead) == "sign" and self._tokens[self._next + ahead].text in signs

    def _tight(self, *aheads: int) -> bool:
        """Return whether these tokens touch."""
        tokens = [self._tokens[self._next + k] for k in aheads if self._kind(k)]
        touch = all(a.end == b.start for a, b in itertools.pairwise(tokens))
        return len(tokens) == len(aheads) and touch

    def _is_fraction(self, ahead: int) -> bool:
        slash = self._is_sign(ahead + 1, "/") and self._tight(ahead, ahead + 1, ahead + 2)
        return slash and self._kind(ahead) == self._kind(ahead + 2) == "number"

    def _plain(self, ahead: int) -> bool:
        return all(self._tokens[self._next + k].text.isdigit() for k in (ahead, ahead + 2))

    def _take_sign(self, signs: str) -> Token | None:
        token = self._peek()
        if token is None or not self._is_sign(0, signs):
            return None
        self._next += 1
        return token

    # --- the end

    def _left_over(self, token: Token) -> str:
        if token.kind == "word":
            self._unit(token)
            return "there is a unit already"
        if token.text == ")":
            return "this bracket was never opened"
        return "two numbers stand side by side; put + - * or / between them, or take the gap out"

    def _fail(self, reason: str, at: int | None) -> NoReturn:
        text = self._text
        where = f" from “{_short(text[at:])}” on" if at else ""
        raise SizeError(
            f"“{_short(text)}” cannot be read{where}: {reason}; write it like {self._ruler.example}"
        )


_ALONE = "degrees Fahrenheit stand alone; work the sum out first"


def _in_base(ruler: Ruler, amount: _Amount) -> Fraction:
    unit = ruler.bare if amount.unit is None else amount.unit
    if unit == "degF":
        return (amount.number - 32) * Fraction(5, 9)
    return amount.number * ruler.factors.get(unit, Fraction(1))


def _negative(amount: _Amount) -> _Amount:
    return _Amount(-amount.number, amount.unit)


def _short(text: str) -> str:
    plain = text if text.isprintable() else text.encode("unicode_escape").decode("ascii")
    return plain if len(plain) <= 40 else plain[:37] + "..."
