"""A minimal valid book, written file by file so that a test can change one thing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

FILES = {
    "shop.toml": """\
name = "Corner Bench"
address = ["1 Mill Row", "Anytown"]
phone = "555 0100"
email = "bench@shop.example"
currency = "EUR"
locale = "en_IE"
languages = ["en", "fr"]
labour_rate = "80"
tax_name = "VAT"
"tax_name [fr]" = "TVA"
tax_rate = "0.20"
tax_labour = true
minimum = "20"
productive_share = "0.7"
closed = ["2026-12-24", "2027-01-02/2027-01-05"]
terms = ["Pay when you collect."]
"terms [fr]" = ["Payer au retrait."]
note = "Thank you."
"note [fr]" = "Merci."
[hours]
tue = "10:00-12:30, 13:30-18:00"
wed = "10:00-18:00"
""",
    "checklist.toml": """\
[[step]]
id = "instrument"
name = "Instrument"
"name [fr]" = "Instrument"
heading = "What came in?"
"heading [fr]" = "Qu'avons-nous là ?"
always = true

[[question]]
id = "family"
step = "instrument"
kind = "one"
label = "Family"
"label [fr]" = "Famille"
how = "Look at it."
"how [fr]" = "Regardez."
values = [
  {id = "steel-string", label = "Steel string", "label [fr]" = "Cordes acier"},
  {id = "classical", label = "Classical", "label [fr]" = "Classique"},
]
required = true

[[question]]
id = "relief"
step = "instrument"
kind = "measure"
unit = "in"
label = "Relief"
"label [fr]" = "Creux"
how = "At the 7th fret."
"how [fr]" = "À la 7e frette."
values = ["0.004 in", "0.008 in", "0.012 in"]
low = "-0.060 in"
high = "0.100 in"

[[question]]
id = "pins"
step = "instrument"
kind = "pins"
label = "Places"
"label [fr]" = "Endroits"
how = "Tap the drawing."
"how [fr]" = "Touchez le dessin."
parts = [{id = "top", label = "Top", "label [fr]" = "Table"}, {id = "back", label = "Back", "label [fr]" = "Fond"}]
kinds = [{id = "crack", label = "Crack", "label [fr]" = "Fente"}, {id = "brace", label = "Brace", "label [fr]" = "Barre"}]
states = [{id = "open", label = "Open", "label [fr]" = "Ouverte"}, {id = "loose", label = "Loose", "label [fr]" = "Décollée"}]
""",
    "targets.csv": """\
hit policy,first
family,then relief_low [in],then relief_high [in],note
"""
    '''"""classical""",0.002,0.010,
-,0.004,0.012,
''',
    "defaults.csv": """\
hit policy,first
family,then default_shop_rh [%],then default_join_fret
-,45,14
""",
    "tables/relief.csv": """\
hit policy,unique
family,relief [in],then finding,then severity,then says,then says [fr]
-,<0.002,relief-low,work,"Relief is {relief}, under {relief limit}.","Le creux est {relief}, sous {relief limit}."
-,[0.002..0.012],relief-fine,fine,Relief is {relief}.,Le creux est {relief}.
-,>0.012,relief-high,work,"Relief is {relief}, over {relief limit}.","Le creux est {relief}, au-delà de {relief limit}."
""",
    "tables/places.csv": """\
hit policy,collect
each,pins
kind,state,then finding,then severity,then says,then says [fr]
"""
    '''"""crack""",not("loose"),crack-open,work,A crack in the {part}.,Une fente : {part}.
"""brace""",-,brace-loose,work,A brace is loose.,Une barre est décollée.
''',
    "remedies.csv": """\
hit policy,collect
each,findings
finding,then job,then quantity,then tier,then instead of
"""
    '''"""relief-low"",""relief-high""",rod-adjust,1,playable,
"""crack-open""",crack-close,pieces_8in,put_right,
"""brace-loose""",brace-reglue,count,put_right,
''',
    "factors.csv": """\
hit policy,collect
each,jobs
job,family,then factor,then wait,then why,then why [fr]
"""
    '''"""crack-close""","""classical""",1.2,48 h,Thin top.,Table fine.
''',
    "fitting.csv": """\
hit policy,collect
each,jobs
job,family,then part,then quantity
"""
    '''"""crack-close""",-,cleat,2
''',
    "jobs.csv": """\
id,group,name,name [fr],quick,usual,slow,price,stage,after,needs,includes,operations,parts,wait,wait kind,splits,skill
rod-adjust,neck,Rod adjustment,Réglage de la tige,0.2,0.3,0.5,,20,crack-close,,,strings-off,,,,,1
crack-close,body,Crack closed,Fente refermée,0.5,1,1.5,,10,,,,strings-off,cleat*2,24 h,glue,no,2
brace-reglue,body,Brace glued,Barre recollée,0.5,0.8,1.2,65.00,10,,,,,,24 h,glue,no,2
""",
    "operations.csv": """\
id,name,name [fr],quick,usual,slow
strings-off,Strings off and on,Cordes ôtées et remises,0.1,0.2,0.3
""",
    "parts.csv": """\
id,name,name [fr],cost,price,unit,taxed
cleat,Spruce cleat,Taquet d'épicéa,0.50,1.50,piece,yes
""",
    "strings.csv": """\
family,gauge_set,string,gauge,kind,unit_weight,note
steel-string,light,1,0.012,plain,0.00003190,
""",
    "woods.csv": """\
id,name,radial,tangential,density,note
spruce,Spruce,0.00148,0.00263,0.40,
""",
}

WriteBook = Callable[..., Path]


@pytest.fixture
def write_book(tmp_path: Path) -> WriteBook:
    """Writes the minimal book; `changes` maps a file to (old, new) pairs, or to None to leave it out."""

    def write(changes: dict[str, list[tuple[str, str]] | str | None] | None = None) -> Path:
        folder = tmp_path / "book"
        for name, content in {**FILES, **{n: "" for n in (changes or {}) if n not in FILES}}.items():
            change = (changes or {}).get(name, [])
            if change is None:
                continue
            if isinstance(change, str):
                content = change
            else:
                for old, new in change:
                    assert old in content, f"{old!r} does not stand in {name}"
                    content = content.replace(old, new)
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(content, encoding="utf-8")
        return folder

    return write
