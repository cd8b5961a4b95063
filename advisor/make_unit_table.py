"""Writes `unit_table.py`: every spelling of a unit we accept, with its factor as pint gives it.

Run ``python -m advisor.make_unit_table`` after changing the spellings below. The program reads the
written table, so that no start and no turn of a conversation pays for loading pint.
"""

from __future__ import annotations

from pathlib import Path

from advisor.quantities import PINT_CANONICAL, registry, spelling_key

# canonical unit -> pint expression -> the spellings people use. Keys are compared after
# `quantities.spelling_key`: case, blanks, dots, hyphens and brackets do not matter.
VOLUMES = {
    "liter": "l liter liters litre litres ltr ltrs lt lit lts litern",
    "milliliter": "ml milliliter millilitre milliliters millilitres mls",
    "centiliter": "cl centilitre",
    "deciliter": "dl decilitre",
    "hectoliter": "hl hektoliter",
    "meter**3": "m3 cbm cubicmeter cubicmetre cubicmeters cubicmetres kubikmeter kubik qm3",
    "gallon": "usgal usgals usgallon usgallons usg galus gallonus gallonsus usliquidgallon "
    "usliquidgallons americangallon americangallons",
    "imperial_gallon": "impgal impgals impgallon impgallons imperialgal imperialgals imperialgallon "
    "imperialgallons ukgal ukgals ukgallon ukgallons galimp galuk gallonsuk gallonuk gallonsimp igal "
    "britishgallon britishgallons englischegallonen",
    "quart": "usqt usqts usquart usquarts",
    "imperial_quart": "impqt impquart impquarts imperialquart imperialquarts ukquart ukquarts",
    "pint": "uspt uspts uspint uspints",
    "imperial_pint": "imppt imppint imppints imperialpint imperialpints ukpint ukpints",
    "fluid_ounce": "usfloz usoz usfluidounce usfluidounces usflozs",
    "imperial_fluid_ounce": "impfloz impoz ukfloz ukoz imperialfloz imperialoz imperialfluidounce "
    "imperialfluidounces ukfluidounce ukfluidounces",
    "foot**3": "ft3 cuft cubicfoot cubicfeet cf",
    "inch**3": "in3 cuin cubicinch cubicinches",
}
TIMES = {
    "second": "s sec secs second seconds sek sekunde sekunden",
    "minute": "min mins minute minutes minuten",
    "hour": "h hr hrs hour hours std stunde stunden",
    "day": "d day days tag tage tagen dy",
    "week": "wk wks week weeks woche wochen kw",
    "30*day": "mo mos mon month months monat monate monaten mth mths",
    "365*day": "y yr yrs year years jahr jahre jahren",
}
SPELLINGS: dict[str, dict[str, str]] = {
    "L": VOLUMES,
    "day": TIMES,
    "h": TIMES,
    "min": TIMES,
    "L/min": {
        "liter/minute": "lpm l/m ltr/m",
        "gallon/minute": "usgpm",
        "imperial_gallon/minute": "impgpm igpm ukgpm",
        "meter**3/hour": "cbm/h",
    },
    "L/day": {"gallon/day": "usgpd", "liter/day": "lpd"},
    "mg/L": {
        "milligram/liter": "mg/l mgl mg/liter mg/litre mgperl mgperlitre mgperliter milligrammproliter "
        "ppm partspermillion mgprol mgproliter mgjeliter mg",
        "gram/liter": "g/l",
        "microgram/liter": "ug/l ppb",
    },
    "mg/L CaCO3": {
        "ppm_hardness": "mg/l mg/lcaco3 mg/lascaco3 mgl ppm ppmcaco3 ppmascaco3 partspermillion mg "
        "mgperlitre mgperliter ppmhardness ppmhard",
        "german_hardness": "°dh dh graddh °d dgh °gh gh graddeutscherhärte graddeutschehärte "
        "graddeutschehaerte graddeutscherhaerte "
        "deutschehärte "
        "deutschegrad germandegrees germandegree degreesgerman degreegerman degdh degreesdh degreedh "
        "germanhardness dh° °german degreesgermanhardness graddeutsch °dhhard dhhard gradh",
        "french_hardness": "°f f fh °fh degreesfrench frenchdegrees frenchdegree degf degreesf °french th",
        "english_hardness": "°e e °clark clark degreesclark clarkdegrees degreeclark englishdegrees "
        "degreesenglish degclark clarks °eh eh grains/impgal grainperimperialgallon gr/impgal °english",
        "us_hardness": "gpg grain grains gr grains/gal grainspergallon grainpergallon grains/gallon gr/gal "
        "grainhardness grainsofhardness grainsperusgallon grains/usgal usgpg grainshard grainshardness",
        "mmol_hardness": "mmol/l mmol mmoll mmolperlitre mmolperliter mmolproliter mmol/lcaco3",
    },
    "µS/cm": {
        "microsiemens/centimeter": "us/cm us uscm microsiemens microsiemens/cm mikrosiemens usiemens "
        "microsiemenspercm umho umho/cm micromhos micromho mics mikrosiemens/cm us/centimeter us/centimetre",
        "millisiemens/centimeter": "ms/cm ms mscm millisiemens millisiemens/cm msiemens millisiemenspercm",
        "millisiemens/meter": "ms/m",
        "siemens/meter": "s/m",
    },
    "°C": {
        "degC": "°c c degc degreesc degreec celsius degreescelsius °celsius grad gradcelsius gradc deg "
        "degree degrees ° centigrade degcelsius",
        "degF": "°f f degf degreesf degreef fahrenheit degreesfahrenheit °fahrenheit gradfahrenheit "
        "degfahrenheit",
        "kelvin": "k kelvin",
    },
    "bar": {
        "bar": "bar bars barg",
        "psi": "psi psig lbs/in2 lb/in2 poundspersquareinch lbf/in2",
        "megapascal": "mpa megapascal",
        "kilopascal": "kpa kilopascal",
        "standard_atmosphere": "atm",
    },
    "mg/m³": {
        "milligram/meter**3": "mg/m3 mgm3 mgpercubicmetre mgpercubicmeter mgproqm3 mg/cbm mgprocbm "
        "mgperm3 mgprom3 mg mg/cubicmeter mg/cubicmetre mg/kubikmeter mgprokubikmeter",
        "microgram/meter**3": "ug/m3",
    },
}
# Units that are counts of themselves: pint has nothing to add, so the factor stands here.
PLAIN: dict[str, dict[float, str]] = {
    "fraction": {
        0.01: "% percent pct pc percents pro prozent prct %vol vol% volpercent percentage perc v/v% %v/v "
        "volumenprozent percentbyvolume %byvolume",
        0.001: "‰ permille promille",
    },
    "°Bx": {1.0: "°bx bx brix °brix brixe %brix degreesbrix degreebrix degbrix brics bricks % percent °"},
    "pH": {1.0: "ph phunits phunit"},
    "CFU/mL": {
        1.0: "cfu/ml cfu cfuperml kbe kbe/ml kbeproml perml /ml proml col/ml colonies/ml colonies keime "
        "keime/ml germs/ml germs bacteria/ml bact/ml bact bugs cells/ml count counts",
        0.001: "cfu/l kbe/l",
    },
    "ppm": {1.0: "ppm partspermillion ml/m3", 0.001: "ppb"},
    "1": {
        1.0: "x times people persons machines fach off parts part operators men guys kollegen mann leute",
    },
}
# Bare words that mean one volume in the United States and another in Britain.
BARE = {
    "gal gals gallon gallons gall galls gln gallonen galon galons gallone": ("usgal", "impgal"),
    "oz ozs ounce ounces floz flozs fluidounce fluidounces flounce flounces": ("usfloz", "impfloz"),
    "qt qts quart quarts": ("usqt", "impqt"),
    "pt pts pint pints": ("uspt", "imppt"),
}
BARE_RATES = {"gpm": ("usgpm", "impgpm"), "gpd": ("usgpd", "usgpd")}


def _line(expression: str, canonical: str) -> tuple[float, float]:
    """Scale and offset that turn a number in `expression` into one in `canonical`."""
    ureg = registry()
    if canonical == "degC":
        zero = float(ureg.Quantity(0.0, expression).to("degC").magnitude)
        hundred = float(ureg.Quantity(100.0, expression).to("degC").magnitude)
        return round((hundred - zero) / 100.0, 15), round(zero, 12)
    return float(ureg.Quantity(1.0, ureg.parse_expression(expression).units).to(canonical).magnitude) * float(
        ureg.parse_expression(expression).magnitude
    ), 0.0


def table() -> dict[str, dict[str, tuple[float, float]]]:
    """Canonical unit -> spelling key -> (scale, offset), computed by pint from `SPELLINGS`."""
    made: dict[str, dict[str, tuple[float, float]]] = {}
    for unit, expressions in SPELLINGS.items():
        rows = made.setdefault(unit, {})
        for expression, words in expressions.items():
            line = _line(expression, PINT_CANONICAL[unit])
            for word in words.split():
                rows[spelling_key(word)] = line
    for unit, factors in PLAIN.items():
        rows = made.setdefault(unit, {})
        for factor, words in factors.items():
            for word in words.split():
                rows[spelling_key(word)] = (factor, 0.0)
    return made


def source() -> str:
    """The text of `unit_table.py`."""
    lines = [
        '"""Spellings of units, and factors. Written by ``python -m advisor.make_unit_table``; not by hand.',
        "",
        "A number in the spelled unit times `scale` plus `offset` is the number in the canonical unit.",
        "Source of the factors: pint's registry and the hardness definitions in `quantities.HARDNESS`.",
        '"""',
        "",
        "UNITS: dict[str, dict[str, tuple[float, float]]] = {",
    ]
    for unit, rows in table().items():
        lines.append(f"    {unit!r}: {{".replace("'", '"'))
        lines += [f'        "{key}": ({scale!r}, {offset!r}),' for key, (scale, offset) in rows.items()]
        lines.append("    },")
    lines += ["}", "", "# word -> its key in the United States, its key in Britain"]
    lines.append("BARE: dict[str, tuple[str, str]] = {")
    for words, (us, imperial) in {**BARE, **BARE_RATES}.items():
        lines += [f'    "{spelling_key(word)}": ("{us}", "{imperial}"),' for word in words.split()]
    lines += ["}", ""]
    return "\n".join(lines)


if __name__ == "__main__":
    Path(__file__).with_name("unit_table.py").write_text(source(), encoding="utf-8")
