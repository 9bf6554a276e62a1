"""The cautions that belong to each kind of work.

Each has a line short enough for a calendar page and a fuller text for the place where the work is
explained. Common practice, no source, but for the two with a source beside them. None of them
replaces local codes, the label on the packet, or licensed practice, and each says so where it
matters. Messages are English message ids; outputs translate them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.outputs.work import CLEAR, FILL, LEVEL, MOVE, PICK, SHELTER, SOW, SUPPORT, TRANSPLANT


def N_(message: str) -> str:
    """Marks a message for translation without translating it yet."""
    return message


@dataclass(frozen=True)
class Caution:
    """One caution: its name, the kinds of work it goes with, the short line, the full text."""

    name: str
    kinds: frozenset[str]
    short: str
    full: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        N_("Lifting"),
        frozenset({FILL, TRANSPLANT, CLEAR, MOVE}),
        N_("one vessel at a time, filled in place. Stacks tip: hold them."),
        # Loads: HSE guidance L23/INDG143 puts a full 20 L vessel (about 21 kg) within its filter
        # only for a man at elbow height; drained or part-filled vessels are far easier.
        N_(
            "A litre of solution weighs a kilogram, and an open vessel of water shifts as you "
            "carry it. Lift one vessel at a time, close to the body, with level ground under your "
            "feet; get help with what is heavy for you. Fill vessels where they stand rather than "
            "carrying them full, and syphon off before you lift. Tall stacks tip: set them level, "
            "the heaviest at the bottom, tied to a post or wall where children, animals or wind "
            "can reach them. Rules on manual handling where you live come first."
        ),
    ),
    Caution(
        N_("Salts and acid"),
        frozenset({FILL}),
        N_("goggles, gloves. Acid into water. Calcium salt last."),
        N_(
            "Wear goggles, gloves and an apron, with clean water at hand for the eyes. Pour acid "
            "into water, never water into acid. Dissolve one salt after the other in most of the "
            "water, calcium nitrate last: concentrated calcium salts and sulfates or phosphates "
            "must never meet. Keep acids and salts labelled, locked away and apart from food and "
            "from chlorine bleach. The label and safety data sheet come first, and so do local "
            "rules for storing and pouring them away."
        ),
    ),
    Caution(
        N_("Still water"),
        frozenset({LEVEL, FILL}),
        N_("close or mesh every gap against mosquitoes; look for larvae."),
        # Egg to adult takes about a week (CDC household guidance, seen in a secondary copy).
        N_(
            "Mosquitoes breed in still water in about a week, far quicker than a crop. Close every "
            "gap round lid and pots or cover it with mesh finer than a mosquito, and leave no "
            "vessel of water open; look for larvae at every level check. Larvicides only as their "
            "label says, and as local vector control and food rules allow. An open vessel is also "
            "a danger to small children."
        ),
    ),
    Caution(
        N_("Clean produce"),
        frozenset({PICK}),
        N_("clean hands and knife. Wash in drinking water, then cool."),
        N_(
            "Wash hands and tools before picking. Do not pick with an upset stomach. "
            "Keep leaves out of the solution and off the ground; throw away what was in it. Wash "
            "produce in clean drinking water, cool it soon and keep it cold (basil not below about "
            "8 \u00b0C or 46 \u00b0F). Where you give or sell it to others, local food rules apply."
        ),
    ),
    Caution(
        N_("Cleaning"),
        frozenset({CLEAR}),
        N_("gloves. Never bleach with acid: poisonous gas. Rinse well."),
        N_(
            "Pour old solution on soil that can use it, never into a stream or drain unless local "
            "rules allow it. Scrub, then disinfect as the product's label says, with gloves and in "
            "the open air; rinse well. Never let chlorine bleach meet acid or acid cleaner: the "
            "gas is poisonous."
        ),
    ),
    Caution(
        N_("Cover"),
        frozenset({SHELTER}),
        N_("it catches wind: tie it and the stack down. No ladder on wet ground."),
        N_(
            "A cover catches wind and can pull a stack over: tie both down, and leave the sides "
            "open to air. Keep off ladders on wet or soft ground, and take a large cover down "
            "before a storm. A roof that stays may need leave under local building codes."
        ),
    ),
    Caution(
        N_("Canes"),
        frozenset({SUPPORT}),
        N_("cap the ends of canes and wires, so that no eye is hurt."),
        N_("Cap the ends of canes and wires, which stand at the height of eyes and small faces."),
    ),
    Caution(
        N_("Power"),
        frozenset({SOW, MOVE}),
        N_("lights: dry hands, plugs above the water, RCD (GFCI)."),
        N_(
            "Where nursery or column has a light, fan or heat mat: dry hands, plugs and switches "
            "above and away from water, cords with a drip loop, and a residual-current device "
            "(ground-fault interrupter) on the circuit. Fixed wiring is work for a licensed "
            "electrician, by the local electrical code."
        ),
    ),
)


def due(kinds: Iterable[str]) -> tuple[Caution, ...]:
    """The cautions that go with these kinds of work, each once, in the order of the table."""
    present = frozenset(kinds)
    return tuple(c for c in CAUTIONS if c.kinds & present)
