"""Word-address lines: by the table of codes, else by what remarks say of them; what moves axes is a script."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.remark_marks import COMMAND_MARK
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine import codes
from cfgmigrate.machine.behind_sensor import may_be_left_behind
from cfgmigrate.machine.by_words import take_setting
from cfgmigrate.machine.code_again import take_codes_again
from cfgmigrate.machine.code_legends import codes_explained
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.codes_of_another import ask_of_another_list
from cfgmigrate.machine.collection import (
    Collected,
    Collection,
    about,
    line_of,
    may_not_hold,
    protected_anyway,
    whole,
)
from cfgmigrate.machine.context import Spoken, words_said
from cfgmigrate.machine.ends_by_pairs import ask_of_pairs_out_of_order
from cfgmigrate.machine.gear_pairs import ENDS_IN_CHECKSUM, is_bare_ratio, ratio_of_a_line
from cfgmigrate.machine.head_lengths import other_lengths
from cfgmigrate.machine.inch_mode import ask_what_is_in_inches
from cfgmigrate.machine.listed_letters import clear_fit, only_occasion
from cfgmigrate.machine.lists import range_said
from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.measuring_letters import letters_that_measure
from cfgmigrate.machine.model import MACHINE, Unread, feeder
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.nearest import nearest
from cfgmigrate.machine.number_units import in_some_unit
from cfgmigrate.machine.plain_words import protected_name
from cfgmigrate.machine.quantities import facts, of_feeder, quantity
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.remarks_above import alone_on_its_line
from cfgmigrate.machine.sides_by_sign import without_sides
from cfgmigrate.machine.spots import Spot, never_edited
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.taught_words import in_mapping
from cfgmigrate.machine.teeth_of_one import note_gear, one_gear
from cfgmigrate.machine.told_codes import ToldCodes
from cfgmigrate.machine.told_plugs import ToldPlugs
from cfgmigrate.machine.turned_or_not import ask_whether_turned
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Counted, Name, names_of, read_name, split

_REMARK = pattern(COMMAND_MARK)

#: how a question ends about lines of which nobody knows whose each is
EACH_OF_ANOTHER = "each may be of another feeder"


def told_in_other_files(documents: Iterable[Document], least: int = 2) -> dict[str, str]:
    """What the legends of word-address files explain of codes, and remarks behind lines of one letter, where there are so many
    files at `least`: a machine's files share them."""
    files = [document for document in documents if document.dialect == codes.DIALECT]
    if len(files) < least:
        return {}
    explained = codes_explained(
        [alone_on_its_line(line) for line in document.data.decode("latin-1").splitlines()]
        for document in files
    )
    return {**_told_behind(files), **explained} if len(files) > 1 else explained


def _told_behind(files: Iterable[Document]) -> dict[str, str]:
    """What remarks behind lines of one letter that is no axis's say of their code, where all that say a quantity say one and no
    line of it has another letter, nor a remark right above it that may say something else."""
    said: dict[str, dict[str, str]] = defaultdict(dict)
    otherwise: set[str] = set()
    letters: dict[str, set[str]] = defaultdict(set)
    for document in files:
        remarks, lines = remarks_of(document), defaultdict(list)
        written = document.data.decode("latin-1").splitlines()
        for setting in document.settings:
            lines[setting.line].append(setting)
        for first, *rest in lines.values():
            code, words = (
                (first.section, [first, *rest]) if first.section else (first.key + first.value, rest)
            )
            found = {each.key.upper() for each in words}
            letters[coded(code)] |= found
            text = remarks.of_line(first) if len(words) == 1 else ""
            if not remarks.of_line(first) and _REMARK.search(
                written[first.line - 2] if first.line > 1 else ""
            ):
                otherwise.add(coded(code))
            if not text or first.state is not State.ACTIVE or not LETTERS_OF_AXES.isdisjoint(found):
                continue
            pieces = tuple(split(text.partition(",")[0]))
            fit = clear_fit(Spoken(names_of((), pieces, words_said("", stated(text).unit))))
            if fit and not only_occasion(fit):
                said[coded(code)].setdefault(fit.quantity, text)
    return {
        code: next(iter(each.values()))
        for code, each in said.items()
        if len(each) == len(letters[code]) == 1 and code not in otherwise
    }


def collect_codes(
    found: Collection,
    document: Document,
    names: Names | None,
    elsewhere: Mapping[str, str],
    plugs: ToldPlugs | None = None,
) -> None:
    """Word-address lines: by the table of codes, else by their remarks; what moves axes is a script. `elsewhere` are codes
    that other files explain, `plugs` those of which it is told whose they are."""
    before = len(found.readings), len(found.unread)
    remarks = remarks_of(document)
    told = ToldCodes(document, remarks, in_mapping(names.words) if names else {}, elsewhere)
    scripts = codes.scripts_of(document, told.explained())
    found.readings.extend(Collected(script, settled=True) for script in scripts)
    tool: int | None = None
    for setting in document.settings:
        if codes.selects_tool(setting) and setting.line in told.single:
            tool = codes.tool_number(setting.value)
            continue
        if setting.start in told.code_starts or setting.start in told.choosers.starts:
            continue
        chosen = told.choosers.tool(setting.line, _names_a_feeder(remarks.of_line(setting)))
        inside = any(script.start <= setting.start < script.end for script in scripts)
        spoken = told.spoken(setting) if not inside else Spoken(())
        spot = Spot(
            document,
            setting,
            unit=spoken.unit,
            qualifier=spoken.qualifier,
            file_units=told.units,
            file_qualifier=remarks.called,
            head_lengths=other_lengths(remarks.opening),
            confirmed=told.confirmed,
        )
        _collect_code(
            found,
            spot,
            names,
            tool if chosen is None else chosen,
            spoken,
            inside,
            tuple(each for each in told.letters[setting.line] if chosen is None or each != "T"),
            plugs.letters if plugs else {},
        )
        _not_only_a_switch(found, spot, told)
        if found.unread and found.unread[-1].setting is setting and (said := told.in_words(setting)):
            found.unread[-1] = replace(found.unread[-1], said=said)
    ask_whether_turned(found, remarks, before[0])
    _pair_ratios(found, told, *before)
    ask_of_pairs_out_of_order(found, document, told, before[0])
    take_codes_again(found, told, *before)
    ask_what_is_in_inches(found, document, before[0])
    _by_told_plugs(found, document, plugs or ToldPlugs(), before[0])
    _ask_of_whom(found, document, told, before[0])
    read_at = {
        each.reading.place.line for each in found.readings[before[0] :] if each.reading.value is not None
    }
    read_at |= {each.place.line for each in found.said_nothing if each.place.file == document.path}
    found.doubts += ask_of_another_list(document, told.legend.of_another, told.line_code, read_at)


def _names_a_feeder(remark: str) -> bool:
    """Whether a remark names one of several feeders: `feeder B`."""
    counted = read_name("", remark).counted if remark else None
    return counted is not None and "feeder" in vocabulary().names_in(frozenset((counted.word,)))


def _by_told_plugs(found: Collection, document: Document, plugs: ToldPlugs, since: int) -> None:
    """Counts readings of a feeder by the plug beside them of which it is told whose it is: `C21 P1 E139.9`."""
    if not plugs.of and not plugs.contested:
        return
    words: dict[int, list[Setting]] = defaultdict(list)
    for setting in document.settings:
        words[setting.line].append(setting)
    for at in range(since, len(found.readings)):
        each = found.readings[at]
        own = each.reading.setting
        if each.counted is None and of_feeder(each.reading.quantity):
            counted = plugs.on_line(word for word in words[own.line] if word.start != own.start)
            found.readings[at] = _counted_by(each, counted)


def _counted_by(each: Collected, counted: Counted | None) -> Collected:
    """What was said of a code, of the feeder that its line tells of; unless a person said whose it is."""
    if counted is None or each.reading.holder != MACHINE or not of_feeder(each.reading.quantity):
        return each
    return replace(each, counted=counted, settled=False)


def _of_feeder(each: Collected, number: int) -> Collected:
    """What a person said of a code's letter, of the feeder that goes by this letter."""
    if each.reading.holder != MACHINE or not of_feeder(each.reading.quantity):
        return each
    return replace(each, reading=replace(each.reading, holder=feeder(number)), settled=True)


def _ask_of_whom(found: Collection, document: Document, told: ToldCodes, since: int) -> None:
    """Turns readings of lines of one code into questions that set the same of a feeder, each another number, and differ in
    another letter as well, `C21 P0 E137.7` and `C21 P1 E139.9`: that may count feeders, and then none wins over another. A letter
    that measures, such as a speed that only the earlier line has, makes no line another feeder's: the later one wins."""
    words: dict[int, dict[str, str]] = defaultdict(dict)
    for setting in document.settings:
        words[setting.line][setting.key.upper()] = setting.value
    measures = letters_that_measure(document, told) if found.readings[since:] else frozenset()
    alike: dict[tuple[str, str, str], list[Collected]] = defaultdict(list)
    for each in found.readings[since:]:
        of = each.reading.setting
        if each.counted is None and of_feeder(each.reading.quantity):
            alike[of.section, of.key.upper(), each.reading.quantity].append(each)
    gone: list[Collected] = []
    setting_: dict[str, set[str]] = defaultdict(set)
    for each in found.readings[since:]:
        setting_[each.reading.setting.section].add(each.reading.setting.key.upper())
    for (code, key, quantity_), several in alike.items():
        beside = [
            {letter: text for letter, text in words[each.reading.place.line].items() if letter != key}
            for each in several
        ]
        letters = {letter for one in beside for letter in one} - LETTERS_OF_AXES - setting_[code]
        letters -= codes.letters_of(code)
        letters -= {letter for of_code, letter in measures if of_code == code}
        apart = min((a for a in letters if len({one.get(a) for one in beside}) > 1), default="")
        if not apart or len({each.reading.value for each in several}) < 2:
            continue
        gone += several
        why = f"lines of {code} differ in {apart}, and nothing says what {apart} counts: {EACH_OF_ANOTHER}"
        first = f"{apart}{next(one[apart] for one in beside if apart in one)}"
        remedy = (
            f"say in cfgmigrate.yaml whose each is, where {apart} counts feeders: `feeders: {{1: {{known_as: [{first}]}}}}`; or "
            "put a line that selects the tool, such as T0, before each of them; where the board writes this file itself, find "
            f"out which feeder each {apart} stands for, and set the number of the swapped one by hand, at the board's console"
        )
        found.doubts += (
            Doubt(each.reading.place, line_of(each.reading.setting), why, remedy, about=quantity_)
            for each in several
        )
    found.readings[since:] = [each for each in found.readings[since:] if each not in gone]


def _not_only_a_switch(found: Collection, spot: Spot, told: ToldCodes) -> None:
    """A word that is protected as the filament's switch, and of which the list says that it is the filament left behind it:
    nobody protects a length, so it is asked about as what was not understood."""
    last = found.readings[-1].reading if found.readings else None
    setting = spot.setting
    if last is None or last.setting is not setting or last.quantity != _SWITCH_OF_FILAMENT:
        return
    if may_be_left_behind(setting, told.in_words(setting)):
        found.readings.pop()
        found.unread.append(Unread(spot.place(), line_of(setting), setting))


def _pair_ratios(found: Collection, told: ToldCodes, readings: int, unread: int) -> None:
    """Ratios of which another word of the line, that nothing explains, is the other number. Only what was found from
    these counts on is of this file."""
    open_words: dict[int, list[Setting]] = {}
    for left in found.unread[unread:]:
        if left.setting.key.upper() not in "XYZ":
            open_words.setdefault(left.setting.line, []).append(left.setting)
    for at in range(readings, len(found.readings)):
        each = found.readings[at]
        if is_bare_ratio(each.reading):
            setting = each.reading.setting
            line, remark = open_words.get(setting.line, []), told.spoken(setting).remark
            reading, doubts = ratio_of_a_line(each.reading, line, remark)
            found.readings[at] = replace(each, reading=reading)
            found.doubts.extend(doubts)


def _collect_code(
    found: Collection,
    spot: Spot,
    names: Names | None,
    tool: int | None,
    spoken: Spoken,
    inside: bool,
    letters: tuple[str, ...],
    whose: Mapping[str, int],
) -> None:
    setting = spot.setting
    fit = codes.code_fit(setting)
    named = names.find(spot.document, setting) if names else None
    protected = fit is not None and quantity(fit.quantity).protected
    summed = setting.state is State.UNDECIDED and _CHECKSUM.match(spot.document.data, setting.end)
    if summed and not named:
        _of_summed_line(found, spot, fit, tool, spoken, len(letters) > 1)
    elif setting.state is State.UNDECIDED and fit:
        found.doubts.append(may_not_hold(spot, fit.quantity))
    elif setting.state is not State.ACTIVE or (named and not protected):
        before = len(found.readings)
        take_setting(found, spot, names, spoken)
        if number := whose.get(setting.key.upper()):  # what the site file says goes before a tool above
            found.readings[before:] = [_of_feeder(each, number) for each in found.readings[before:]]
        elif tool is not None:
            found.readings[before:] = [_counted_by(each, _tool(tool)) for each in found.readings[before:]]
    elif fit and "T" in letters:
        why = "the line says T beside what it sets, and machines differ in what that means"
        found.doubts.extend(about((spot.doubt(why, "put a line that selects the tool before it"),), fit))
    elif fit:
        if named:
            found.names_used.add(named.key)
            found.doubts.append(protected_anyway(named))
        both = codes.of_two_feeders(spot, fit) if tool is None else None
        if both:
            found.take(both, settled=True)
        else:
            found.take(codes.code_said(spot, fit), fit, _tool(tool))
    elif not inside:
        _by_remark(found, spot, spoken, tool, len(letters) > 1)


_SWITCH_OF_FILAMENT = "protected.runout"
_CHECKSUM = pattern(rb"[^\r\n;]*\*[ \t]*\d+[ \t]*(?:\r|\n|;|\Z)")


def _of_summed_line(
    found: Collection, spot: Spot, fit: Fit | None, tool: int | None, spoken: Spoken, beside: bool
) -> None:
    """A word of a line that ends in a checksum: what it says holds, and no edit of it would."""
    before = len(found.readings)
    if fit:
        found.take(codes.code_said(spot, fit), fit, _tool(tool))
    else:
        _by_remark(found, spot, spoken, tool, beside)
    for at in range(before, len(found.readings)):
        each = found.readings[at]
        found.readings[at] = replace(
            each, reading=replace(each.reading, editable=False, why_not=ENDS_IN_CHECKSUM)
        )


def _tool(number: int | None) -> Counted | None:
    return None if number is None else Counted(number, "tool")


def _by_remark(found: Collection, spot: Spot, spoken: Spoken, tool: int | None, beside: bool = False) -> None:
    """A word, alone on its line or with others `beside` it, whose code no table has: what its remark says, where every word of that has a meaning."""
    spoken = replace(spoken, names=without_sides(spoken.names, spot.document, spot.setting))
    spanned = next((said for each in spoken.names if (said := range_said(spot, each, ""))), None)
    if spanned:
        found.take(codes.as_told(spanned, spot), settled=True)
        return
    name, best = best_fits(spoken.names) if spoken.names else (Name((), ()), ())
    if best and one_gear(spot, name, best[0]) and not beside:
        note_gear(found, spot, name)
    elif len(best) == 1 and not best[0].strange and not best[0].alone and not only_occasion(best[0]):
        said = codes.code_said(spot, best[0])
        if said.readings:
            told = (
                never_edited(codes.as_told(said, spot), spoken.half)
                if spoken.half
                else codes.as_told(said, spot)
            )
            found.take(told, best[0], name.counted or _tool(tool))
            return
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(whole(spot, protected), settled=True))
        return
    near = tuple(fit.quantity for fit in best) or (nearest(name) if spoken.names else ())
    number = read_value(spot.setting.value)
    if isinstance(number, Number):
        near = tuple(each for each in near if in_some_unit(facts(each), number.value))
    found.unread.append(Unread(spot.place(), line_of(spot.setting), spot.setting, near))
