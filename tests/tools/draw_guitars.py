"""Draws guitars around every built-in pickup by the law that its file states, and tells how their figures spread.

Run from the repository's root: python3 tests/tools/draw_guitars.py > tests/data/drawn_guitars.csv
Needs Python 3.11 and numpy. Nothing of it is the program's: the presets are read as TOML, each guitar's circuit is written as
modified nodal equations, its poles are the eigenvalues of these.

The law: every part lies evenly between two limits. Those of a coil's values are the ranges that stand beside them in the
pickup's file; both coils of a pickup have one place between the limits, and each coil is up to 3 % off that by itself. Pots
are within 20 %, the tone capacitor within 10 %, the cable and the amplifier's input resistance within 20 %, its capacitance
within 50 %; knobs are full.

A row is a figure of a voice and its quantiles, of which the two tails alone are told: 0 to 10 % and 90 to 100 % in steps of
half a percent. A row `sha256` names the file that the pickup was read from.
"""

import hashlib
import pathlib
import tomllib

import numpy

DRAWS = 16000
OWN = 0.03
SEED = 20261127
LOW_HZ = 100.0
GRID = 50.0 * 400.0 ** (numpy.arange(200) / 199.0)
CURVE = [i for i in range(0, 200, 8) if 100.0 <= GRID[i] <= 6000.0]
TAILS = numpy.concatenate([numpy.linspace(0.0, 0.1, 21), numpy.linspace(0.9, 1.0, 21)])
PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}


def number(stated):
    """The base units of `1.95 H`, `3.9k` or a plain number."""
    if not isinstance(stated, str):
        return float(stated)
    text = stated.split()[0]
    return float(text[:-1]) * PREFIXES[text[-1]] if text[-1] in PREFIXES else float(text)


class Coil:
    """A coil's values, one a drawn guitar."""

    def __init__(self, table, pickup, places, chance):
        def drawn(key, table=table):
            if key not in table:
                return None
            low, high = (number(end) for end in table[key + "_range"])
            place = places.setdefault(key, chance.random(DRAWS))
            return (low + (high - low) * place) * (1.0 + OWN * (2.0 * chance.random(DRAWS) - 1.0))

        self.resistance = drawn("resistance")
        self.inductance = drawn("inductance")
        self.capacitance = drawn("capacitance")
        self.loss = drawn("loss")
        self.share = drawn("eddy_share")
        self.corner = drawn("eddy_corner")
        self.lead = drawn("lead_capacitance", pickup)
        self.output = drawn("output")

    def unshunted(self):
        return self.inductance if self.share is None else self.inductance * (1.0 - self.share)


class Circuit:
    """Modified nodal equations (G + s C) x = b of all drawn guitars at once; `ground` is no unknown."""

    def __init__(self):
        self.names, self.conductive, self.reactive, self.driven = {}, [], [], []

    def at(self, name):
        return None if name == "ground" else self.names.setdefault(name, len(self.names))

    def between(self, one, other, value, into):
        one, other = self.at(one), self.at(other)
        for row, column, sign in ((one, one, 1), (other, other, 1), (one, other, -1), (other, one, -1)):
            if row is not None and column is not None:
                into.append((row, column, sign * value))

    def resistor(self, one, other, ohms):
        self.between(one, other, 1.0 / ohms, self.conductive)

    def capacitor(self, one, other, farads):
        self.between(one, other, farads, self.reactive)

    def inductor(self, one, other, henries, emf, coil):
        """The current flows from `one` to `other`; the EMF lifts `one`."""
        branch = self.at(("current", len(self.names)))
        for node, sign in ((self.at(one), 1.0), (self.at(other), -1.0)):
            if node is not None:
                self.conductive.append((node, branch, sign))
                self.conductive.append((branch, node, sign))
        self.reactive.append((branch, branch, -henries))
        self.driven.append((branch, emf, coil))
        return branch

    def mutual(self, one, other, henries):
        self.reactive.append((one, other, -henries))
        self.reactive.append((other, one, -henries))

    def matrices(self):
        size = len(self.names)
        filled = numpy.zeros((2, DRAWS, size, size))
        for matrix, entries in zip(filled, (self.conductive, self.reactive)):
            for row, column, value in entries:
                matrix[:, row, column] += value
        return filled

    def driving(self, outputs):
        right = numpy.zeros((DRAWS, len(self.names)))
        for branch, share, coil in self.driven:
            right[:, branch] += share * outputs[coil]
        return right


def add_coil(circuit, coil, plus, minus, which):
    inner = f"inside {which}"
    circuit.resistor(plus, inner, coil.resistance)
    circuit.capacitor(plus, minus, coil.capacitance)
    for end in (plus, minus):
        circuit.capacitor(end, "ground", coil.lead)
    if coil.loss is not None:
        circuit.resistor(inner, minus, coil.loss)
    if coil.share is None:
        return circuit.inductor(inner, minus, coil.inductance, 1.0, which)
    core, within = f"core {which}", coil.share * coil.inductance
    circuit.inductor(core, minus, within, coil.share, which)
    circuit.resistor(core, minus, 2.0 * numpy.pi * coil.corner * within)
    return circuit.inductor(inner, core, coil.unshunted(), 1.0 - coil.share, which)


VOICES = {
    "series": [("hot", "middle"), ("middle", "ground")],
    "parallel": [("hot", "ground"), ("hot", "ground")],
    "split-a": [("hot", "ground"), ("ground", "ground")],
    "alone": [("hot", "ground")],
}


def figures(voice, coils, coupling, rig):
    circuit = Circuit()
    branches = []
    for which, (coil, (plus, minus)) in enumerate(zip(coils, VOICES[voice])):
        branches.append(add_coil(circuit, coil, plus, minus, which))
    if len(coils) == 2:
        circuit.mutual(*branches, coupling * numpy.sqrt(coils[0].unshunted() * coils[1].unshunted()))
    circuit.resistor("hot", "ground", rig["volume"])
    circuit.resistor("hot", "tone", rig["tone"])
    circuit.capacitor("tone", "ground", rig["capacitor"])
    circuit.resistor("hot", "ground", rig["input"])
    circuit.capacitor("hot", "ground", rig["cable"] + rig["input capacitance"])
    conductive, reactive = circuit.matrices()
    right, jack = circuit.driving([coil.output for coil in coils]), circuit.at("hot")

    def level(hertz):
        solved = numpy.linalg.solve(conductive + 2j * numpy.pi * hertz * reactive, right[:, :, None].astype(complex))
        return 20.0 * numpy.log10(numpy.abs(solved[:, jack, 0]))

    # H(s) is the sum over k of seen_k given_k / (1 + s values_k), whose poles lie at -1 / values_k.
    values, vectors = numpy.linalg.eig(numpy.linalg.solve(conductive, reactive))
    given = numpy.linalg.solve(vectors, numpy.linalg.solve(conductive, right[:, :, None]).astype(complex))[:, :, 0]
    excited = numpy.abs(given * vectors[:, jack, :])
    excited[numpy.abs(values.imag) <= 1e-9 * numpy.abs(values)] = 0.0
    heard = numpy.take_along_axis(values, excited.argmax(axis=1)[:, None], axis=1)[:, 0]
    pole = -1.0 / heard
    return {
        "resonance_hz": numpy.abs(pole) / (2.0 * numpy.pi),
        "q": numpy.abs(pole) / (-2.0 * pole.real),
        "low": level(LOW_HZ),
        "curve": numpy.array([level(GRID[i]) for i in CURVE]),
    }


def told(pickup, voice, figure, values):
    numbers = ",".join(f"{value:.5g}" for value in numpy.quantile(values, TAILS))
    print(f"{pickup},{voice},{figure},{numbers}")


def main():
    chance = numpy.random.default_rng(SEED)
    print("pickup,voice,figure," + ",".join(f"{tail:.3f}" for tail in TAILS))
    for path in sorted(pathlib.Path("presets/pickups").glob("*.toml")):
        table = tomllib.loads(path.read_text())
        print(f"{path.stem},,sha256,{hashlib.sha256(path.read_bytes()).hexdigest()}")
        places = {}
        coils = [Coil(table[key], table, places, chance) for key in ("coil_a", "coil_b") if key in table]

        def between(low, high):
            return low + (high - low) * chance.random(DRAWS)

        def off(value, share):
            return between(value * (1.0 - share), value * (1.0 + share))

        pot = number(table["pot"])
        rig = {
            "volume": off(pot, 0.2),
            "tone": off(pot, 0.2),
            "capacitor": off(22e-9, 0.1),
            "cable": off(360e-12, 0.2),
            "input": off(1e6, 0.2),
            "input capacitance": off(100e-12, 0.5),
        }
        coupling = between(*table["coupling_range"]) if len(coils) == 2 else None
        voices = ["series", "parallel", "split-a"] if len(coils) == 2 else ["alone"]
        base = None
        for voice in voices:
            own = figures(voice, coils, coupling, rig)
            base = base or own
            told(path.stem, voice, "resonance_hz", own["resonance_hz"])
            told(path.stem, voice, "q", own["q"])
            if own is not base:
                told(path.stem, voice, "drop_low_db", own["low"] - base["low"])
            for place, i in enumerate(CURVE):
                told(path.stem, voice, f"response_{i}", own["curve"][place] - base["low"])
                if own is not base:
                    told(path.stem, voice, f"difference_{i}", own["curve"][place] - base["curve"][place])


main()
