"""Words of column headings, in the trade's terms of several languages, and what they speak of."""

from __future__ import annotations

import re
import unicodedata

# What is measured
QUANTITY_WORDS: dict[str, str] = {
    "temperature": "t temp temperature temperatur temperatura temperatuur tmp",
    "humidity": "rh humidity hum feuchte luftfeuchte rf humidite hr humedad umidita ur vochtigheid rv",
    "flow": "flow flowrate durchfluss volumenstrom debit caudal portata debiet",
    "level": "level depth fullstand pegel niveau nivel livello peil ullage",
    "power": "power leistung puissance potencia potenza vermogen watt kw",
    "energy": "energy energie energia kwh wh stroom strom",
    "volume": "meter counter zahler wasserzahler compteur contador contatore teller volume volumen totaliser "
    "totalizer total",
    "rain": "rain rainfall precip precipitation tips niederschlag regen pluie precipitations lluvia pioggia neerslag",
    "wind": "wind windspeed windgeschwindigkeit vent viento vento ws",
    "pressure": "pressure baro barometer luftdruck pression presion pressione luchtdruck",
    "solar": "solar irradiance ghi pyranometer globalstrahlung einstrahlung rayonnement radiacion irradiancia "
    "irraggiamento zonnestraling insolation",
    "long_wave": "longwave pyrgeometer gegenstrahlung lw lwd",
    "conductivity": "conductivity ec leitfahigkeit conductivite conductividad conducibilita geleidbaarheid",
    "status": "status state run running betrieb etat marche estado stato bedrijf onoff",
}
# Where, or of what
PLACE_WORDS: dict[str, str] = {
    "supply": "supply vorlauf vl depart aller impulsion ida mandata aanvoer nozzle nozzles feed",
    "return": "return rucklauf rl retour retorno ritorno runoff ablauf",
    "store": "store tank cistern speicher zisterne cuve reservoir deposito tanque aljibe serbatoio cisterna accumulo "
    "opslag vat basin ballon",
    "air": "air outdoor outside ambient oat aussen aussenluft luft exterieur exterior ambiente esterna aria buiten "
    "lucht",
    "room": "room zone indoor inside space raum innen interieur ambiance sala habitacion interior stanza interna "
    "ruimte binnen kamer hall office workshop",
    "surface": "surface floor ceiling roof slab oberflache boden decke dach sol plafond toit toiture suelo techo "
    "cubierta pavimento soffitto tetto vloer dak",
    "spray": "spray sprinkler nozzle nozzles spruh dusen beregnung arrosage aspersion riego irrorazione ugelli sproei "
    "sprayed spraying",
    "makeup": "makeup mains refill topup citywater nachspeisung trinkwasser frischwasser appoint relleno reposicion "
    "reintegro rabbocco suppletie leidingwater",
    "draw": "toilet toilets wc draw drawn use users irrigation entnahme toiletten toilettes puisage consumo inodoros "
    "prelievo verbruik",
    "pump": "pump pumps pumpe pompe bomba pompa pomp",
    "ac": "ac chiller compressor split hvac dx kalte kaltemaschine klima klimaanlage clim climatisation climatizacion "
    "enfriadora clima condizionatore airco koelmachine rooftop",
    "circulation": "circulation circulator umwalz umwalzpumpe circulateur recirculacion circolazione circulatie",
    "standby": "standby controls control panel steuerung regelung commande mando quadro regeling",
    "cooling": "cooling coil fancoil kuhlung kuhlkreis refroidissement refrigeracion raffrescamento koeling",
}
_TWO_WORDS = (
    ("make up", "makeup"),
    ("top up", "topup"),
    ("city water", "citywater"),
    ("on off", "onoff"),
    ("long wave", "longwave"),
    ("to roof", "supply"),
    ("from roof", "return"),
    ("a c", "ac"),
    ("air conditioner", "ac"),
    ("air conditioning", "ac"),
    ("fan coil", "fancoil"),
    ("flow rate", "flowrate"),
)
_LONG_ENOUGH = 5  # letters: a word this long is also met inside a compound


def plain_words(heading: str) -> list[str]:
    """The words of a heading: small letters without accents, parted at everything else and at capitals."""
    bare = unicodedata.normalize("NFKD", heading.replace("ß", "ss").replace("ø", "o"))
    bare = "".join(letter for letter in bare if not unicodedata.combining(letter))
    bare = re.sub(r"\bk(Wh?)\b", lambda unit: f"k{unit[1].lower()}", bare)
    bare = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", bare)
    text = " ".join(re.findall(r"[a-z]+|\d+", bare.casefold()))
    for pair, word in _TWO_WORDS:
        text = re.sub(rf"\b{pair}\b", word, text)
    return text.split()


def meanings(heading: str, table: dict[str, str]) -> dict[str, str]:
    """What a heading may speak of by a table of words: meaning -> the word that says so."""
    words = plain_words(heading)
    found: dict[str, str] = {}
    for meaning, listed in table.items():
        known = listed.split()
        for word in words:
            inside = next((term for term in known if len(term) >= _LONG_ENOUGH and term in word), None)
            if table is PLACE_WORDS:
                inside = inside or next((term for term in known if len(term) > 3 and word.startswith(term)), None)
            if word in known or inside:
                found.setdefault(meaning, word)
    return found


def number_in_heading(heading: str) -> int | None:
    """The last number in a heading ("T2" -> 2), or None."""
    found = re.findall(r"\d+", heading)
    return int(found[-1]) if found else None
