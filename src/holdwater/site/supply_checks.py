"""Checks on the supply line: pressure left, speed of the water, frost, movement with warmth."""

from __future__ import annotations

from dataclasses import dataclass, field

from holdwater.site import ground, pipes, water
from holdwater.site.cautions import DRINKING, FREEZING, LICENSED
from holdwater.site.ground import Frost
from holdwater.site.pipes import Pipe
from holdwater.site.result import WARMTH, Check, Topic, Value, Verdict, judged, noted, unchecked, when_known
from holdwater.site.sizes import FOOT

FASTEST = 5.0 * FOOT / 1000.0
"""Fastest water for plastic pipe [m/s]: 5 ft/s, common practice."""

PRESSURE = Topic(
    "line_pressure",
    "pressure left at the tap",
    "Hazen-Williams and Darcy-Weisbach, the greater loss; fittings by equivalent length (Illinois Adm. Code"
    " 77-906 App. A, Crane Technical Paper 410)",
    (
        "Filters, treatment and a water heater take pressure too and are not counted.",
        DRINKING,
        LICENSED,
    ),
)
SPEED = Topic(
    "line_speed",
    "speed of the water in the line",
    "common practice for plastic pipe: at most 5 ft/s",
    ("Faster water wears pipes and hammers when a valve shuts.",),
)
FROST = Topic(
    "frost",
    "frost over the line",
    "depth of frost: the local building office if given, else 55.18 FI^0.468 (Fair, Geyer & Okun eq. 5.41b)"
    " with Stefan as the deepest it could go",
    (
        FREEZING,
        "Snow and turf keep frost shallow, a bare drive or a wet trench lets it deep.",
        "Risers, hydrants, valves and the pump freeze first.",
        "The local building office knows the frost depth.",
    ),
)
MOVEMENT = Topic(
    "movement",
    "movement of the line with warmth",
    "pipe makers' coefficients, PVC 0.36 in per 100 ft and 10 degF",
    (
        "Reckoned over the air's whole range, which a buried pipe never sees.",
        "Snake long buried runs in the trench; leave play at bends where a line lies in the open.",
    ),
)


@dataclass(frozen=True)
class Line:
    """A line from the tanks or the pump to a point of use.

    Attributes
    ----------
    name : str
        Where it leads; empty where the owner gave no line.
    pipe : Pipe or None
        Kind and size.
    length : float or None
        Length [mm].
    fittings : dict of str to int
        Counted by name.
    flow : float or None
        Flow wanted at the end [L/s].
    rise : float or None
        Height of the tap above the pump, or above the lowest water where gravity feeds it [mm].
    start : float or None
        Pressure at its beginning: the cut-in of the pressure switch, 0 under gravity [kPa].
    wanted : float or None
        Pressure wanted at the tap [kPa].
    buried : float or None
        Least cover over the pipe, 0 in the open [mm].
    drained : bool
        Whether it is drained before the frost.
    gravity : bool
        Whether it runs without a pump.
    """

    name: str
    pipe: Pipe | None = None
    length: float | None = None
    fittings: dict[str, int] = field(default_factory=dict)
    flow: float | None = None
    rise: float | None = None
    start: float | None = None
    wanted: float | None = None
    buried: float | None = None
    drained: bool = False
    gravity: bool = False

    @property
    def subject(self) -> str:
        """The line in a sentence."""
        return f"line '{self.name}'" if self.name else "the supply line"


_PIPE, _LENGTH = "the size and pipe of the line (site.line.size, pipe)", "its length (site.line.length)"
_FLOW = "the flow wanted at its end (site.line.flow)"


def pressure(line: Line) -> Check:
    """Is the wanted pressure left at the tap at the wanted flow?"""
    bore = line.pipe

    def then(_: float, length: float, flow: float, rise: float, start: float, wanted: float) -> Check:
        assert bore is not None
        whole = pipes.whole_length(length, line.fittings, bore)
        lost = water.pressure(pipes.friction(flow, bore, whole, water.COLD))
        climb = water.pressure(rise)
        begins = "" if line.gravity else "starts with {start}, "
        height = "{climb} to the climb" if climb >= 0.0 else "gains {climb} from the fall"
        lead = f"At {{flow}} {{subject}} {begins}loses {{lost}} to friction and {height}; {{left}} is left at the tap"
        lead += " and {wanted} is wanted: "
        return judged(
            PRESSURE,
            line.subject,
            have="left",
            need="wanted",
            says=(lead + "enough.", lead + "not enough."),
            inputs={
                "flow": Value("flow", flow, "flow"),
                "inside": Value("inside diameter", bore.inside, "size"),
                "length": Value("length with fittings", whole, "length"),
                "rise": Value("height of the tap above the start", rise, "length"),
                "start": Value("pressure at the start", start, "pressure"),
                "wanted": Value("pressure wanted", wanted, "pressure"),
            },
            computed={
                "lost": Value("lost to friction", lost, "pressure"),
                "climb": Value("taken or given by the height", abs(climb), "pressure"),
                "left": Value("pressure left", start - lost - climb, "pressure"),
            },
        )

    known = {
        _PIPE: bore.inside if bore else None,
        _LENGTH: line.length,
        _FLOW: line.flow,
        "the height of its tap and of the pump or tanks (site.line.height, site.pump.height)": line.rise,
        "the cut-in pressure (site.pressure_tank.cut_in)": line.start,
        "the pressure wanted at the tap (site.line.pressure)": line.wanted,
    }
    return when_known(PRESSURE, line.subject, known, then)


def speed(line: Line) -> Check:
    """Does the water run slowly enough for plastic pipe?"""

    def then(inside: float, flow: float) -> Check:
        lead = "At {flow} the water in {subject} runs at {speed}; {most} is the most for plastic pipe: "
        return judged(
            SPEED,
            line.subject,
            have="most",
            need="speed",
            says=(lead + "slow enough.", lead + "too fast. A wider pipe is needed."),
            inputs={
                "flow": Value("flow", flow, "flow"),
                "inside": Value("inside diameter", inside, "size"),
                "most": Value("fastest for plastic pipe", FASTEST, "speed"),
            },
            computed={"speed": Value("speed of the water", pipes.velocity(flow, inside), "speed")},
        )

    known = {_PIPE: line.pipe.inside if line.pipe else None, _FLOW: line.flow}
    return when_known(SPEED, line.subject, known, then)


def frost(line: Line, record: Frost | None, code_depth: float | None) -> Check:
    """Does the line lie deeper than frost goes?

    Parameters
    ----------
    record : Frost or None
        What the temperature record says.
    code_depth : float or None
        Frost depth the local building office gives [mm].
    """
    depth_known = code_depth is not None or record is not None
    lacking = (() if depth_known else (_DEPTH,)) + (() if line.buried is not None else (_BURIED,))
    if line.buried is None or lacking:
        return unchecked(FROST, line.subject, lacking)
    index = record.worst_index if record else 0.0
    likely = code_depth if code_depth is not None else ground.frost_depth(index)
    deepest = code_depth if code_depth is not None else ground.stefan_depth(index)
    inputs = {"buried": Value("cover over the pipe", line.buried, "height")} | _frost_inputs(record)
    depths = {
        "likely": Value("likely depth of frost in the coldest winter", likely, "height"),
        "deepest": Value("depth it cannot pass", deepest, "height"),
    }
    days = " The record has {days} days of frost a year, down to {coldest}." if record else ""
    if line.buried == 0.0 and record and record.days_per_year > 0.0:
        return _in_the_open(line, days, inputs, depths)
    if line.drained and line.buried < likely:
        says = "{subject}, under {buried} of cover, freezes (frost goes {likely} deep) unless it is drained: drain it"
        return noted(FROST, line.subject, says + " before the first frost." + days, inputs, depths)
    if likely <= line.buried < deepest:
        says = "{subject}, under {buried} of cover, lies below the likely frost of {likely} but not below the"
        says += " {deepest} it could reach at most: ask the building office for the frost depth."
        return noted(FROST, line.subject, says + days, inputs, depths)
    return judged(
        FROST,
        line.subject,
        have="buried",
        need="likely",
        says=(
            "{subject}, under {buried} of cover, lies below the frost of {likely}." + days,
            "{subject}, under {buried} of cover, freezes: frost goes {likely} deep. Bury it deeper, or drain it"
            " before the first frost." + days,
        ),
        inputs=inputs,
        computed=depths,
    )


def _in_the_open(line: Line, days: str, inputs: dict[str, Value], depths: dict[str, Value]) -> Check:
    """A line without cover freezes in the air, however shallow the frost in the ground."""
    if line.drained:
        says = "{subject} lies in the open and freezes unless it is drained: drain it before the first frost."
        return noted(FROST, line.subject, says + days, inputs, depths)
    says = "{subject} lies in the open and freezes. Bury it, or drain it before the first frost." + days
    return Check(FROST, line.subject, Verdict.FAILS, says, inputs, depths)


_DEPTH = "the frost depth of the local building office (site.frost_depth) or " + WARMTH
_BURIED = "the cover over the pipe, 0 in the open (site.line.buried)"


def _frost_inputs(record: Frost | None) -> dict[str, Value]:
    """What the record gave, for the list of inputs."""
    if record is None:
        return {}
    return {
        "days": Value("days of frost a year", record.days_per_year, "count"),
        "index": Value("freezing index of the coldest winter", record.worst_index, "degree days"),
        "coldest": Value("lowest temperature", record.coldest, "temperature"),
        "winters": Value("winters counted", record.winters, "count"),
    }


def movement(line: Line, record: Frost | None) -> Check:
    """How much does the line move between the coldest and the warmest day?"""
    kind = line.pipe.kind if line.pipe else ""
    says = "Over a range of {range}, {subject}, {length} long, grows and shrinks by up to {moves}: leave it play."
    if line.buried:
        says = "In the open, over a range of {range}, {subject}, {length} long, would move by up to {moves};"
        says += " in the ground it moves far less: snake it in the trench."

    def then(length: float, range_: float, per_degree: float) -> Check:
        return noted(
            MOVEMENT,
            line.subject,
            says,
            {
                "length": Value("length", length, "length"),
                "range": Value("range of temperature", range_, "warming"),
            },
            {"moves": Value("movement", per_degree * length * range_, "size")},
        )

    known = {
        _LENGTH: line.length,
        WARMTH: record.warmest - record.coldest if record else None,
        "the kind of its pipe, one of the table (site.line.pipe)": pipes.movement_of(kind),
    }
    return when_known(MOVEMENT, line.subject, known, then)
