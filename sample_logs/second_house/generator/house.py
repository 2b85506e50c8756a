"""The invented house: what it has, and the figures by which its spirit behaves. README.md says the same in prose."""

NAME = "Varnamoor Flats Distillery (invented)"
PLANT = "DSP-ZZ-99017"
ALTITUDE_FT = 4900.0
CASE = 6  # bottles

PEOPLE = {
    "JT": "head distiller", "OK": "distiller", "RM": "distiller", "PW": "warehouse lead", "LB": "warehouse hand",
    "SD": "laboratory analyst", "HN": "quality lead", "VC": "compliance clerk", "GF": "owner",
}  # fmt: skip

# Shares by weight; extract of the dry matter and moisture are those of a usual certificate.
MASH_BILLS = {
    "BRB": {"corn": 0.72, "rye": 0.16, "malted barley": 0.12},
    "WHB": {"corn": 0.70, "wheat": 0.18, "malted barley": 0.12},
    "RYE": {"rye": 0.80, "corn": 0.10, "malted barley": 0.10},
    "RMM": {"molasses": 1.0},
    "RMC": {"cane juice": 1.0},
}
EXTRACT_PCT_DM = {"corn": 79.5, "rye": 71.0, "malted barley": 78.5, "wheat": 76.0}
MOISTURE_PCT = {"corn": 13.8, "rye": 12.4, "malted barley": 4.6, "wheat": 12.1}
BRIX = {"molasses": 79.5, "cane juice": 17.2}
FERMENTABLE = {"molasses": 0.66, "cane juice": 0.92, "grain": 0.875}  # of the extract or Brix
SPIRIT = {"BRB": "bourbon", "WHB": "bourbon", "RYE": "rye", "RMM": "rum", "RMC": "rum"}
MASH_LB = {"grain": 4000.0, "molasses": 4300.0, "cane juice": 15200.0}
BEER_WATER_GAL = {"grain": 1720.0, "molasses": 1600.0, "cane juice": 160.0}

PRODUCTS = {
    "VSB": {"class": "Straight Bourbon Whiskey", "proof": 90.0, "ml": 750, "age": "4 years"},
    "VRB": {"class": "Straight Rye Whiskey Bottled in Bond", "proof": 100.0, "ml": 750, "age": "4 years"},
    "VSC": {"class": "Straight Bourbon Whiskey, single barrel, cask strength", "proof": None, "ml": 750,
            "age": "4 years"},
    "VYB": {"class": "Bourbon Whiskey, small casks", "proof": 92.0, "ml": 375, "age": "1 year"},
    "VBL": {"class": "Blended Whiskey", "proof": 80.0, "ml": 1000, "age": ""},
    "VRM": {"class": "Rum, aged", "proof": 84.0, "ml": 750, "age": "2 years"},
    "VWR": {"class": "Rum, white", "proof": 80.0, "ml": 1000, "age": ""},
}  # fmt: skip

SIZES = {53: 52.9, 30: 29.8, 15: 14.9, 59: 58.9}  # nominal gallons: gallons to the bung
TARE_LB = {53: 112.0, 30: 72.0, 15: 43.0, 59: 118.0}
SOAKED_GAL = {53: 1.9, 30: 1.25, 15: 0.75, 59: 2.0}  # kept by the wood of a drained cask
LOSS_PER_YEAR = {53: 0.036, 30: 0.047, 15: 0.062, 59: 0.034}  # of the alcohol, in the middle of warehouse W1
TIERS = {"W1": 6, "W2": 3}
# Dry W1 raises the strength, the more the higher; damp W2 lets it fall.
TIER_LOSS = {"W1": [0.78, 0.86, 0.94, 1.04, 1.16, 1.30], "W2": [0.72, 0.78, 0.84]}
TIER_WATER = {"W1": [0.80, 0.95, 1.10, 1.28, 1.46, 1.66], "W2": [0.42, 0.52, 0.62]}  # water lost per alcohol lost

TANKS = {
    "MC1": 2400,
    "F1": 2400,
    "F2": 2400,
    "F3": 2400,
    "F4": 2400,
    "LW1": 1300,
    "LW2": 1300,
    "SPT1": 1100,
    "SPT2": 1200,
    "SPT3": 1100,
    "SPT4": 1200,
    "ENT1": 3300,
    "FNT1": 900,
    "FNT2": 900,
    "FNT3": 900,
    "GNS1": 700,
    "HLD1": 700,
    "HLD2": 700,
    "DMP1": 700,
    "BLD1": 1100,
    "PRF1": 1100,
    "PRF2": 1100,
    "SLG1": 12000,
}  # gallons; fmt: skip

CUSTOMERS = {"C-101": "TD", "C-104": "TD", "C-107": "TD", "C-112": "TD", "C-118": "TD", "C-123": "TD", "C-201": "EX",
             "C-202": "EX", "P-301": "IB", "P-302": "IB"}  # fmt: skip
EC_TARGET_UG_KG = 125.0
