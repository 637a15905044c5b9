"""Which country is meant by this name or code, and what is a country called?

Calendars write countries in many ways: "Spain", "ES", "ESP"; "Germany", "DE", "DEU" or, in sport,
"GER". The table below holds the codes of ISO 3166-1 (two and three letters), a plain English name,
and the other names and sporting codes in common use. Kosovo has no ISO code: XK and XKX are the
user-assigned ones that airport tables carry. `airports.py` and the calendar import ask here.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import Final

from seasonplan.science.words import pgettext

CONTEXT: Final = "country"
"""In which the translations of names stand."""

# two letters | three letters | name | other names and codes, separated by semicolons
_TABLE: Final = """
AD|AND|Andorra
AE|ARE|United Arab Emirates|UAE;Emirates
AF|AFG|Afghanistan
AG|ATG|Antigua and Barbuda|Antigua;ANT
AI|AIA|Anguilla
AL|ALB|Albania
AM|ARM|Armenia
AO|AGO|Angola|ANG
AQ|ATA|Antarctica
AR|ARG|Argentina
AS|ASM|American Samoa|ASA
AT|AUT|Austria|Österreich
AU|AUS|Australia
AW|ABW|Aruba|ARU
AX|ALA|Åland Islands
AZ|AZE|Azerbaijan
BA|BIH|Bosnia and Herzegovina|Bosnia;Bosnia-Herzegovina
BB|BRB|Barbados|BAR
BD|BGD|Bangladesh|BAN
BE|BEL|Belgium|Belgique;België
BF|BFA|Burkina Faso|BUR
BG|BGR|Bulgaria|BUL
BH|BHR|Bahrain
BI|BDI|Burundi
BJ|BEN|Benin
BL|BLM|Saint Barthélemy
BM|BMU|Bermuda|BER
BN|BRN|Brunei|Brunei Darussalam;BRU
BO|BOL|Bolivia
BQ|BES|Caribbean Netherlands|Bonaire
BR|BRA|Brazil|Brasil
BS|BHS|Bahamas|The Bahamas;BAH
BT|BTN|Bhutan|BHU
BV|BVT|Bouvet Island
BW|BWA|Botswana|BOT
BY|BLR|Belarus
BZ|BLZ|Belize|BIZ
CA|CAN|Canada
CC|CCK|Cocos (Keeling) Islands|Cocos Islands
CD|COD|DR Congo|Democratic Republic of the Congo;Congo-Kinshasa
CF|CAF|Central African Republic
CG|COG|Congo|Republic of the Congo;Congo-Brazzaville;CGO
CH|CHE|Switzerland|SUI;Schweiz;Suisse;Svizzera
CI|CIV|Ivory Coast|Côte d’Ivoire;Cote d'Ivoire
CK|COK|Cook Islands
CL|CHL|Chile|CHI
CM|CMR|Cameroon
CN|CHN|China|PR China;People's Republic of China
CO|COL|Colombia
CR|CRI|Costa Rica|CRC
CU|CUB|Cuba
CV|CPV|Cape Verde|Cabo Verde
CW|CUW|Curaçao
CX|CXR|Christmas Island
CY|CYP|Cyprus
CZ|CZE|Czechia|Czech Republic
DE|DEU|Germany|GER;Deutschland
DJ|DJI|Djibouti
DK|DNK|Denmark|DEN;Danmark
DM|DMA|Dominica
DO|DOM|Dominican Republic
DZ|DZA|Algeria|ALG
EC|ECU|Ecuador
EE|EST|Estonia
EG|EGY|Egypt
EH|ESH|Western Sahara
ER|ERI|Eritrea
ES|ESP|Spain|España
ET|ETH|Ethiopia
FI|FIN|Finland|Suomi
FJ|FJI|Fiji|FIJ
FK|FLK|Falkland Islands
FM|FSM|Micronesia
FO|FRO|Faroe Islands
FR|FRA|France
GA|GAB|Gabon
GB|GBR|United Kingdom|UK;U.K.;Great Britain;Britain;England;Scotland;Wales;Northern Ireland
GD|GRD|Grenada|GRN
GE|GEO|Georgia
GF|GUF|French Guiana
GG|GGY|Guernsey
GH|GHA|Ghana
GI|GIB|Gibraltar
GL|GRL|Greenland
GM|GMB|Gambia|The Gambia;GAM
GN|GIN|Guinea|GUI
GP|GLP|Guadeloupe
GQ|GNQ|Equatorial Guinea|GEQ
GR|GRC|Greece|GRE;Hellas
GS|SGS|South Georgia and the South Sandwich Islands|South Georgia
GT|GTM|Guatemala|GUA
GU|GUM|Guam
GW|GNB|Guinea-Bissau|GBS
GY|GUY|Guyana
HK|HKG|Hong Kong|Hong Kong SAR;Hong Kong, China
HM|HMD|Heard Island and McDonald Islands
HN|HND|Honduras|HON
HR|HRV|Croatia|CRO;Hrvatska
HT|HTI|Haiti|HAI
HU|HUN|Hungary
ID|IDN|Indonesia|INA
IE|IRL|Ireland|Republic of Ireland;Éire
IL|ISR|Israel
IM|IMN|Isle of Man
IN|IND|India
IO|IOT|British Indian Ocean Territory
IQ|IRQ|Iraq
IR|IRN|Iran|IRI
IS|ISL|Iceland
IT|ITA|Italy|Italia
JE|JEY|Jersey
JM|JAM|Jamaica
JO|JOR|Jordan
JP|JPN|Japan
KE|KEN|Kenya
KG|KGZ|Kyrgyzstan
KH|KHM|Cambodia|CAM
KI|KIR|Kiribati
KM|COM|Comoros
KN|KNA|Saint Kitts and Nevis|SKN
KP|PRK|North Korea
KR|KOR|South Korea|Korea;Republic of Korea;Korea, Republic of
KW|KWT|Kuwait|KUW
KY|CYM|Cayman Islands|CAY
KZ|KAZ|Kazakhstan
LA|LAO|Laos
LB|LBN|Lebanon|LIB
LC|LCA|Saint Lucia
LI|LIE|Liechtenstein
LK|LKA|Sri Lanka|SRI
LR|LBR|Liberia
LS|LSO|Lesotho|LES
LT|LTU|Lithuania
LU|LUX|Luxembourg|Luxemburg
LV|LVA|Latvia|LAT
LY|LBY|Libya|LBA
MA|MAR|Morocco|Maroc
MC|MCO|Monaco|MON
MD|MDA|Moldova
ME|MNE|Montenegro
MF|MAF|Saint Martin
MG|MDG|Madagascar|MAD
MH|MHL|Marshall Islands
MK|MKD|North Macedonia|Macedonia
ML|MLI|Mali
MM|MMR|Myanmar|Burma;MYA
MN|MNG|Mongolia|MGL
MO|MAC|Macau|Macao
MP|MNP|Northern Mariana Islands
MQ|MTQ|Martinique
MR|MRT|Mauritania|MTN
MS|MSR|Montserrat
MT|MLT|Malta
MU|MUS|Mauritius|MRI
MV|MDV|Maldives
MW|MWI|Malawi|MAW
MX|MEX|Mexico|México
MY|MYS|Malaysia|MAS
MZ|MOZ|Mozambique
NA|NAM|Namibia
NC|NCL|New Caledonia
NE|NER|Niger|NIG
NF|NFK|Norfolk Island
NG|NGA|Nigeria|NGR
NI|NIC|Nicaragua|NCA
NL|NLD|Netherlands|NED;The Netherlands;Holland;Nederland
NO|NOR|Norway|Norge
NP|NPL|Nepal|NEP
NR|NRU|Nauru
NU|NIU|Niue
NZ|NZL|New Zealand
OM|OMN|Oman|OMA
PA|PAN|Panama
PE|PER|Peru
PF|PYF|French Polynesia|Tahiti
PG|PNG|Papua New Guinea
PH|PHL|Philippines|The Philippines;PHI
PK|PAK|Pakistan
PL|POL|Poland|Polska
PM|SPM|Saint Pierre and Miquelon
PN|PCN|Pitcairn
PR|PRI|Puerto Rico|PUR
PS|PSE|Palestine|PLE
PT|PRT|Portugal|POR
PW|PLW|Palau
PY|PRY|Paraguay|PAR
QA|QAT|Qatar
RE|REU|Réunion
RO|ROU|Romania
RS|SRB|Serbia|Srbija
RU|RUS|Russia|Russian Federation
RW|RWA|Rwanda
SA|SAU|Saudi Arabia|KSA
SB|SLB|Solomon Islands|SOL
SC|SYC|Seychelles|SEY
SD|SDN|Sudan|SUD
SE|SWE|Sweden|Sverige
SG|SGP|Singapore|SIN
SH|SHN|Saint Helena
SI|SVN|Slovenia|SLO
SJ|SJM|Svalbard and Jan Mayen|Svalbard
SK|SVK|Slovakia|Slovak Republic
SL|SLE|Sierra Leone
SM|SMR|San Marino
SN|SEN|Senegal
SO|SOM|Somalia
SR|SUR|Suriname
SS|SSD|South Sudan
ST|STP|São Tomé and Príncipe
SV|SLV|El Salvador|ESA
SX|SXM|Sint Maarten
SY|SYR|Syria
SZ|SWZ|Eswatini|Swaziland
TC|TCA|Turks and Caicos Islands
TD|TCD|Chad|CHA
TF|ATF|French Southern Territories
TG|TGO|Togo|TOG
TH|THA|Thailand
TJ|TJK|Tajikistan
TK|TKL|Tokelau
TL|TLS|East Timor|Timor-Leste
TM|TKM|Turkmenistan
TN|TUN|Tunisia|Tunisie
TO|TON|Tonga|TGA
TR|TUR|Turkey|Türkiye
TT|TTO|Trinidad and Tobago|Trinidad;TRI
TV|TUV|Tuvalu
TW|TWN|Taiwan|TPE;Chinese Taipei
TZ|TZA|Tanzania|TAN
UA|UKR|Ukraine
UG|UGA|Uganda
UM|UMI|United States Minor Outlying Islands
US|USA|United States|United States of America;U.S.;U.S.A.;America
UY|URY|Uruguay|URU
UZ|UZB|Uzbekistan
VA|VAT|Vatican City|Holy See
VC|VCT|Saint Vincent and the Grenadines|Saint Vincent;VIN
VE|VEN|Venezuela
VG|VGB|British Virgin Islands|IVB
VI|VIR|United States Virgin Islands|US Virgin Islands;ISV
VN|VNM|Vietnam|Viet Nam;VIE
VU|VUT|Vanuatu|VAN
WF|WLF|Wallis and Futuna
WS|WSM|Samoa|SAM
XK|XKX|Kosovo|KOS
YE|YEM|Yemen
YT|MYT|Mayotte
ZA|ZAF|South Africa|RSA
ZM|ZMB|Zambia|ZAM
ZW|ZWE|Zimbabwe|ZIM
"""


def country_code(text: str) -> str | None:
    """The ISO 3166-1 two-letter code meant by a name or code, or None if none is.

    Accents, case, full stops and "St"/"Saint", "&"/"and" do not matter. Where a sporting code is
    the ISO code of another country, ISO wins: "BRN" is Brunei.

    >>> country_code("Czech Republic"), country_code("GER"), country_code("Narnia")
    ('CZ', 'DE', None)
    """
    return _codes().get(_key(text))


def country_name(code: str) -> str:
    """The plain name for a two-letter code, in the reader's language; KeyError for a code that does
    not exist."""
    return pgettext(CONTEXT, english_name(code))


def english_name(code: str) -> str:
    """The plain English name for a two-letter code; KeyError for a code that does not exist."""
    return _names()[code.upper()]


def codes() -> tuple[str, ...]:
    """The two-letter codes of all countries."""
    return tuple(_names())


def _key(text: str) -> str:
    plain = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    plain = plain.casefold().replace("&", " and ").replace(".", "")
    for mark in "'’(),-":
        plain = plain.replace(mark, " ")
    return " ".join("saint" if word == "st" else word for word in plain.split())


def _rows() -> list[list[str]]:
    return [line.split("|") for line in _TABLE.strip().splitlines()]


@cache
def _codes() -> dict[str, str]:
    found: dict[str, str] = {}
    rows = _rows()
    for column in (0, 1, 2):
        for row in rows:
            found.setdefault(_key(row[column]), row[0])
    for row in rows:
        for other in row[3].split(";") if len(row) > 3 else ():
            found.setdefault(_key(other), row[0])
    return found


@cache
def _names() -> dict[str, str]:
    return {row[0]: row[2] for row in _rows()}
