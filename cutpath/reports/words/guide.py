"""What each finding's code means, the rules behind it with their sources, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypedDict

from cutpath.errors import CODES
from cutpath.trade.plausible import span_text
from cutpath.trade.rules import WORDS, Practice, figure, rule_of, rules_behind, weight
from cutpath.values.fact import Confidence, Plausible, Sense


@dataclass(frozen=True, slots=True)
class Guide:
    """A code in plain words: what it means, and what to do."""

    meaning: str
    remedy: str


class RuleRow(TypedDict):
    """One rule: ``sense`` is at least, at most, usual size, or told; ``severity`` of a breach, None without one."""

    name: str
    sense: str
    value: float
    unit: str
    severity: str | None
    source: str
    confidence: str
    codes: list[str]


class SizeRow(TypedDict):
    """One size: what has it, from least to most what is usual and possible, and why."""

    name: str
    of: str
    unit: str
    usual: tuple[float, float]
    possible: tuple[float, float]
    confirmable: bool
    source: str
    confidence: str


class CodeRow(TypedDict):
    """One code with its title, its meaning, what to do, and the rules behind it."""

    code: str
    title: str
    meaning: str
    remedy: str
    rules: list[RuleRow]


_MEASURE = "Measure again on site; if the figure is right, change the detail as the finding says."

GUIDES: Final[dict[str, Guide]] = {
    "CP101": Guide(
        "A file that was named is not there, may not be read, or is not plain text.",
        "Check its name and folder, and save it as UTF-8 text.",
    ),
    "CP102": Guide(
        "The file breaks the rules of TOML at the line and column that are named.",
        "Look for a missing quote, bracket or equals sign just before that place.",
    ),
    "CP103": Guide(
        "A key is not one that its table may hold; most often it is misspelt.",
        "Take the spelling that is offered, or take the line out.",
    ),
    "CP104": Guide("A key that cannot be done without is missing.", "Add it; the finding says what it is."),
    "CP105": Guide(
        "A length cannot be read. A bare number is millimetres; text carries its unit.",
        'Write 1200, "1.2 m", "47 1/4 in" or "4 ft 6 in".',
    ),
    "CP106": Guide(
        "A pitch or an angle cannot be read. A bare number is degrees from level.",
        'Write 35, "35 deg", or rise to run as "7:12" or "2.1 m / 3 m".',
    ),
    "CP107": Guide("A value is of the wrong kind, or out of its range.", "Give it as the finding says."),
    "CP108": Guide(
        "A name refers to a coursing, covering, joint or lead that does not exist.",
        "Take one of the names that are listed, or add what is missing.",
    ),
    "CP109": Guide(
        "Two details share one label, a file is given twice, or two jobs share a name or mark. Jobs are told apart: "
        "a figure is added to the mark of the later one, and jobs of one name have their marks added.",
        "Rename one of them, or leave the labels out and have them numbered; a file is given once.",
    ),
    "CP110": Guide(
        "A drawing to import has no closed outline, no unit, or shapes that cannot be cut.",
        "Clean the drawing up, name its unit, and put cuts and folds on their layers.",
    ),
    "CP111": Guide("Two keys say the same thing in two ways.", "Keep the one that was measured."),
    "CP112": Guide(
        "A size, a quantity or a total is not what it usually is, or not what it can be: metres written as bare "
        "numbers, centimetres, a digit too many or too few. The ranges stand below and in profiles/plausible.",
        'Correct it as the finding suggests. If it is right, add the line that it names, such as confirmed = ["key"]: '
        "the job passes with a note. A warning that names none needs nothing. A shop may set ranges of its own with "
        "[[range]] in its --practice file.",
    ),
    "CP113": Guide(
        "How many are cut, or lie there, may not be meant so: no hand is named, rows are hidden, offcuts not counted.",
        "Nothing to do where what the finding says is meant; else write what it names.",
    ),
    "CP114": Guide(
        "A kind of detail goes by a name that was given up. It is still read, in this version for the last time.",
        "Write the name of the trade that the finding gives.",
    ),
    "CP115": Guide(
        "Rows of one order that differ in pitch, covering or exposure are a job to each roof.",
        "Nothing to do where the order has several roofs; else write the same in every row.",
    ),
    "CP201": Guide("A profile that comes with the tool is damaged.", "Install the tool again."),
    "CP202": Guide(
        "The list of rolls cannot be read or used.",
        "Correct it as the finding says, or name a list that comes with it.",
    ),
    "CP203": Guide(
        "The machine profile cannot be read or used, or is not known by that name.",
        "Correct it as the finding says, or name a profile that comes with the tool.",
    ),
    "CP204": Guide(
        "The file with the shop's own rules cannot be used: a name that is not a rule, a wrong unit, a value that "
        "makes no sense, or a figure that steers nothing.",
        "Take the spelling that is offered; `cutpath explain` lists every rule by its name.",
    ),
    "CP205": Guide(
        "A settings file (cutpath.toml) cannot be used: a key that it does not know, a value that makes no sense, or "
        "the name of something that is not there; or jobs of several folders each have one.",
        "Correct the key that is named; `cutpath settings JOB` shows which value comes from where.",
    ),
    "CP206": Guide(
        "The shop's file of prices cannot be used: an unknown key, something that is not a figure, two ways to charge "
        "one thing, or a credit for lead that is not charged.",
        "Correct the key that is named. No prices come with cutpath: every figure in that file is the shop's own.",
    ),
    "CP207": Guide(
        "Something in a quote has no price in the shop's file, so the total is without it.",
        "Write its price in, or included = true for work that other prices hold.",
    ),
    "CP208": Guide(
        "A list of batches cannot be used: a key that it does not know, a value that makes no sense, a name of nothing "
        "that is there, or two batches that would be written into one folder. Nothing of it is made then.",
        "Correct the key that is named, batches counted from the top of the list.",
    ),
    "CP301": Guide(
        "The lead is thinner than its use allows; thin lead splits where it is dressed and lifts in the wind.",
        "Take the code that is named or a thicker one.",
    ),
    "CP302": Guide(
        "A piece is longer than lead of its code may be. Long lead cannot move as it warms and cools, and it cracks.",
        "Divide it into lengths with laps.",
    ),
    "CP303": Guide(
        "The lap between two lengths is shorter than the rule, so that rain can be driven or drawn through it.",
        "Lengthen the lap, or leave the key out and have it computed from the pitch.",
    ),
    "CP304": Guide(
        "The turn-in into joint or chase is shallower than the rule and may pull out.",
        "Rake the joint out deeper where the brick allows it; else wedge it at every step.",
    ),
    "CP305": Guide("The lead stands too low against the wall to keep water out.", "Raise the upstand."),
    "CP306": Guide("The lead covers too little of what lies below it.", "Widen it to the figure of the rule."),
    "CP307": Guide(
        "The soakers stand so high that they would show below the steps or keep the flashing off the wall.",
        "Raise the water line, or take lower upstands.",
    ),
    "CP308": Guide(
        "The slates or tiles lie flatter than they are made for, or lap by too little. Lead cannot cure that.",
        "Measure the pitch or the gauge again; if it is right, tell whoever is responsible for the roof.",
    ),
    "CP309": Guide(
        "However the run is divided, one length stays over the limit or one lap under the rule.",
        "Allow a longer length or a shorter lap, or take a separate corner piece.",
    ),
    "CP310": Guide(
        "The lowest folds stand so near the roof that splash and snow reach the joint.",
        "Raise the water line where the joints allow it.",
    ),
    "CP311": Guide("The lead is too thick for its use and would lift the slates or tiles.", "Take the thinner code."),
    "CP312": Guide(
        "A free edge lies open to the wind; clips hold it. How many, and where, stands in quantities and on tickets.",
        "Fix the clips before the edge is dressed down.",
    ),
    "CP313": Guide(
        "The drawing stops short of a joint that is made by hand on the roof or the bench.",
        "Make it as the finding says; nothing more is cut for it.",
    ),
    "CP314": Guide(
        "The parts of a set share joints and lie over each other; the finding says where and in what order.",
        "Fit them in that order, from the bottom up.",
    ),
    "CP315": Guide(
        "The lead lies on a roof too flat for lengths to lap: water would stand over the joint and creep through. The "
        "finding names the slope, the flattest that is lapped, and the source.",
        "Lay it in one length, or have drips formed across the fall and order each length between them as a run of its "
        "own. No lap is long enough there, whatever is written in the job.",
    ),
    "CP316": Guide(
        "Laps down a roof follow the slope of what they lie on. Slates and tiles lie flatter than the rafters under "
        "them, and the finding says by how much.",
        "Name the covering, so that the laps follow its surface. Where the pitch was measured on it, write 0 as its "
        "flatter_by; of one that is not listed, by how many degrees it lies flatter.",
    ),
    "CP317": Guide(
        "Lead that goes deep into a joint lies in wet mortar, which attacks it.",
        "Paint both sides of the turn-in with bitumen before it goes into the joint.",
    ),
    "CP318": Guide(
        "In severe exposure wind and rain pull at the lead more than the least code is made for. The published table "
        "asks for more of flashings, aprons, cover flashings and saddles; gutters are not in it, and are not held to "
        "it.",
        "Take the code that is named or a thicker one, or ask whoever is responsible for the roof.",
    ),
    "CP320": Guide(
        "The shop's own file asks less than the source does. The job is held to the shop's figure.",
        "Tell whoever is responsible for the roof, before the lead is cut; take the figure out to go by the source.",
    ),
    "CP321": Guide(
        "The shop's own file sets this figure: tighter than the source, or a usual size of its own.",
        "Nothing to do; it is listed so that everybody knows what the job was held to.",
    ),
    "CP322": Guide(
        "A roll or a pack weighs more than one person should lift without a closer look at the load, the place and "
        "the person.",
        "Lift with help or a trolley, cut the roll on the ground, and tie packs as the pack list has them.",
    ),
    "CP401": Guide(
        "The bed joints are not in order from the bottom up over the whole run.",
        "Check the order of the readings and the second reading.",
    ),
    "CP402": Guide(
        "The joints that were measured stop below the upper end of the flashing, or go on far above it.",
        "Below it: measure more joints, give a gauge, or shorten the run. Above it: measure length and pitch again.",
    ),
    "CP403": Guide(
        "The riser lies flatter than the roof and would never leave the water line.",
        "Leave riser out for plumb risers, or give a steeper angle.",
    ),
    "CP404": Guide(
        "The strip is too narrow for steps, turn-in and water line together.",
        "Take the wider strip that is named, lower the water line, or rake the risers.",
    ),
    "CP405": Guide(
        "A turn-in is as deep as the step above it is high, and would run into the next riser.",
        "Skip that joint, or take a shallower turn-in.",
    ),
    "CP406": Guide(
        "A fold is so short that it is hard to dress into its joint.",
        "Skip the joint, move the end of the run, or dress it with care.",
    ),
    "CP407": Guide("A bed joint rises as steeply as the roof.", "Measure its second reading again."),
    "CP408": Guide("A return round the arris does not meet the joint that it should fold into.", _MEASURE),
    "CP409": Guide(
        "An outline crosses or touches itself, or encloses nothing; it is never repaired without your say.",
        "Correct the points.",
    ),
    "CP410": Guide("The run is too short for a single step.", "Check its length along the slope and the set back."),
    "CP411": Guide(
        "The piece is too small for its number, and the waste beside it has no room for it either.",
        "Write the number on by hand, in pencil or chalk, or stick a label on (--labels).",
    ),
    "CP412": Guide("Two parts of a detail do not go together as measured.", _MEASURE),
    "CP413": Guide(
        "The pattern, folded up by calculation, does not lie where the survey says that wall and roof are.",
        "Do not cut it. Measure again; if the job file is right, keep it and report it.",
    ),
    "CP414": Guide(
        "The pattern, folded up by calculation, passes through itself.",
        "Do not cut it. Alter the detail as the finding says.",
    ),
    "CP415": Guide("An edge that its neighbour should cover lies bare.", "Lengthen the lap, or move the joint."),
    "CP420": Guide(
        "A bed joint does not suit the masonry, its neighbours, the gauge or its second reading: a joint left out, a "
        "slip of a digit, a reading from the wrong end or of another joint.",
        "Measure it again. If it is right, put its number into odd_joints beside the joints; it passes with a note.",
    ),
    "CP421": Guide(
        "A second reading holds only some of the joints, as where the roof hides the lower ones. The others are taken "
        "to run as the nearest joint does that was read twice.",
        "Nothing to do; say with from_joint at which joint the second reading begins.",
    ),
    "CP416": Guide("A fold as drawn cannot be bent out of the flat sheet.", "Alter the fold as the finding says."),
    "CP417": Guide(
        "A step ends so low that its turn-in would cut into the strip below the water line.",
        "End the step farther down the slope, choose a higher bed for it, or lower the water line.",
    ),
    "CP418": Guide(
        "A mark, a setting-out point, lettering or the uncut sheet at a worked corner is not where the survey has it.",
        "Do not cut it. If the job file is right, keep it and report it.",
    ),
    "CP419": Guide(
        "A figure between what was measured and the pattern comes out differently when it is worked out a second time.",
        "Do not cut it. If the job file is right, keep it and report it.",
    ),
    "CP422": Guide(
        "A riser that leans back would reach past the lower end, where there is no wall.",
        "Lean the risers less, or leave them plumb.",
    ),
    "CP501": Guide("A piece is larger than every roll on the list.", "Add a wider roll, or divide the piece."),
    "CP502": Guide(
        "The rolls on the list do not hold all pieces.", "Add rolls, or leave their quantity out if more can be had."
    ),
    "CP503": Guide(
        "The nest failed the separate check of its own result.", "Nothing was written. Keep the job file and report it."
    ),
    "CP601": Guide(
        "A drawing failed the check before it was written.", "Nothing was written. Keep the job file and report it."
    ),
    "CP602": Guide(
        "Where two pieces touch, the cut between them stands in the drawing twice, once for each.",
        "Cut it once where the machine lets you choose.",
    ),
    "CP603": Guide(
        "The sheet, or what the file needs to know, does not fit the machine.",
        "Cut lengths that fit its bed off the rolls and list those (`--rolls cut-lengths`), or take another machine.",
    ),
    "CP604": Guide(
        "A fold line would be cut or scored. Lead is never cut or scored on a fold: it cracks there.",
        "Have folds drawn by a pen or left out.",
    ),
    "CP605": Guide(
        "The cut is wider than a hole or notch, which would vanish.", "Take a finer cut, or cut it by hand."
    ),
    "CP606": Guide("A cut runs into a neighbouring piece.", "Nest with a gap as wide as the finding says."),
    "CP607": Guide(
        "There is no waste in which the tool could start beside a cut, or a trailing blade could be brought round.",
        "Nest with a gap or an edge trim, go without a lead-in, or turn the blade by hand before each file.",
    ),
    "CP608": Guide(
        "No place for a holding tab is clear of corners, folds and snips.",
        "Hold the piece down by hand-set weights or vacuum, or go without tabs.",
    ),
    "CP609": Guide(
        "The roll is fed on: how well pieces and frames meet depends on how the roll is set to its marks.",
        "Set the roll to its marks with care, or have none stand across two frames: --in-frames.",
    ),
    "CP610": Guide(
        "A machine file failed the strict check of its format.", "Nothing was written. Keep the job file and report it."
    ),
    "CP611": Guide(
        "The head melts or grinds the lead. Fume and dust of lead are poisonous.",
        "Use knife or shears; if not, settle extraction, mask and health surveillance with a competent person first.",
    ),
    "CP612": Guide(
        "Every file is read again before it is put in place, and one was not what it should have been.",
        "Nothing was written. Send in the report that was written, with the version; it holds the job and no prices.",
    ),
    "CP613": Guide(
        "A name has letters that the font of PDF files lacks: labels and lists would show empty boxes in their place.",
        "Print report.html and tickets.html, which show all letters, or add the name in Latin letters.",
    ),
    "CP701": Guide(
        "The output folder holds something that would be overwritten.",
        "Name another folder, or give --replace to put the new result in the place of an earlier one.",
    ),
    "CP702": Guide("The output folder cannot be written.", "Choose a place where you may write, with room for it."),
    "CP703": Guide(
        "The output folder holds something that the earlier result there did not put in it, or a file of it that was "
        "changed by hand, or a file that this run reads. None of these is ever replaced.",
        "Name another folder, or move these files out of it.",
    ),
    "CP704": Guide(
        "Two runs were given the same output. The first one there goes on.",
        "Wait for the other run, or name another folder.",
    ),
    "CP705": Guide(
        "A run into the same place was broken off. What it left in a hidden folder beside the output was cleared away, "
        "and an earlier result is in its place again; nothing of it was lost.",
        "Nothing to do, unless the finding names a folder to look into.",
    ),
    "CP706": Guide(
        "The folder is not that of a run, was changed by hand, or was made by a version that keeps what a run was made "
        "from in another form, or not at all.",
        "Name the folder of a run as it was written; an older one is made anew from its job files.",
    ),
    "CP707": Guide(
        "A job file, a list of rolls or another file that a run was made from is not what it was, or is not there. The "
        "run keeps all of them, so it can be made once more all the same.",
        "`cutpath run compare` says which pieces come out differently now.",
    ),
    "CP708": Guide(
        "A run was made once more from all that it was made from, and some of its files are not the same. Another "
        "version of cutpath makes them differently.",
        "Use the version that made it, or go by the new files as by any new run: check them first.",
    ),
    "CP709": Guide(
        "A batch of a list could not be made: its process died, the cluster cannot be reached or has another version, "
        "or the program itself went wrong. The other batches are made all the same.",
        "See whether memory ran out; if not, make the batch by itself with `cutpath make`, which says more.",
    ),
    "CP710": Guide(
        "One stage of the work went on for half an hour without getting further, the time for the nest not counted. "
        "No job of a shop takes so long; a file that was made to do so may.",
        "Leave out one job after another to find it. If it is a plain one, please send it in.",
    ),
    "CP801": Guide(
        "The stock file is not there, cannot be opened or written, or is not a stock file of this cutpath.",
        "`cutpath stock add` makes the file. Where --stock stands before a job, write --stock=FILE.",
    ),
    "CP802": Guide(
        "No item on the shelf has that label, or no run that draws on the stock has that name.",
        "`cutpath stock list` and `cutpath run list --all` show them.",
    ),
    "CP803": Guide(
        "A roll or offcut is kept for a run or gone by now, or a run is not in the state that is needed.",
        "Commit or release the run that has it. Where somebody else was quicker, run the same command again: it "
        "nests on what is left.",
    ),
    "CP804": Guide(
        "The movements of the stock do not add up to what is written of its items and runs. That should never happen.",
        "Put the last backup that passes in its place, and report the fault.",
    ),
    "CP805": Guide(
        "A roll whose length is only an estimate is cut by a nest that counts on it.",
        "Measure it before the first cut and put it right with `cutpath stock adjust`, where what is left of it "
        "follows, or in the list of rolls. "
        "If there is less than the run draws, release it, put the length right and make it again.",
    ),
    "CP806": Guide(
        "A size, quantity or cost that no lead has, more of an item than there is, or nothing there to act on.",
        "Correct the figure; where the shelf is empty, add rolls or let some be bought with --rolls.",
    ),
    "CP807": Guide(
        "A piece that was spoilt, or measured anew, is cut once more, with the name of the first.",
        "Throw the first one on the scrap pile, so that it is not fitted.",
    ),
}
"""Every code in plain words."""


def explain_code(code: str, practice: Practice) -> CodeRow:
    """Return a code with its title, its meaning, what to do, and the rules behind it.

    Raises
    ------
    KeyError
        When there is no such code.
    """
    guide = GUIDES[code]
    rules = [explain_rule(rule.name, practice) for rule in rules_behind(code, practice)]
    return {"code": code, "title": CODES[code], "meaning": guide.meaning, "remedy": guide.remedy, "rules": rules}


def explain_rule(name: str, practice: Practice) -> RuleRow:
    """Return a rule by the name of its figure.

    Raises
    ------
    KeyError
        When there is no such figure.
    """
    fact, rule = practice[name], rule_of(name)
    heavy = weight(fact)
    return {
        "name": name,
        "sense": WORDS[rule.sense],
        "value": fact.value,
        "unit": fact.unit,
        "severity": None if heavy is None else heavy.value,
        "source": fact.source,
        "confidence": fact.confidence.value,
        "codes": list(rule.codes),
    }


def code_text(code: str, practice: Practice) -> str:
    """Write a code for a terminal: title, meaning, what to do, and each rule on two lines."""
    row = explain_code(code, practice)
    lines = [f"{code}  {row['title']}", f"    {row['meaning']}", f"    What to do: {row['remedy']}"]
    for rule in row["rules"]:
        lines += [f"    {line}" for line in rule_text(rule["name"], practice).splitlines()]
    return "\n".join(lines)


def rule_text(name: str, practice: Practice) -> str:
    """Write a rule for a terminal: name, figure and weight, then where the figure comes from."""
    fact, row = practice[name], explain_rule(name, practice)
    weight = f" ({row['severity']})" if row["severity"] else ""
    told = f"{figure(fact)}, {row['sense']}" if row["sense"] == WORDS[Sense.TOLD] else f"{row['sense']} {figure(fact)}"
    graded = "the source was read" if fact.confidence is Confidence.READ else row["confidence"]
    grade = "" if row["confidence"] in fact.source else f" [{graded}]"
    return f"{name}: {told}{weight}\n    {fact.source}{grade}"


def explain_size(size: Plausible) -> SizeRow:
    """Return what a size usually is and can be."""
    return {
        "name": size.name,
        "of": size.of,
        "unit": size.unit,
        "usual": size.usual,
        "possible": size.possible,
        "confirmable": size.confirmable,
        "source": size.source,
        "confidence": size.confidence.value,
    }


def size_text(size: Plausible) -> str:
    """Write a size for a terminal: name, ranges, then why."""
    return f"{size.name}: {span_text(size)}\n    {size.of}; {size.founded_on}"
