"""The other house's German words for what the sample says in English; codes of lots, runs and people stay."""

STAGES = {
    "mash": "Maischen", "ferment": "Gären", "strip": "Rauhbrand", "rectify": "Feinbrand über Kolonne",
    "botanical": "Geistbrand", "steep": "Ansatz", "filter": "Filtern", "blend": "Verschneiden",
    "reduce": "Herabsetzen", "bottle": "Abfüllen",
}  # fmt: skip

PARTS = {
    "grain": "Getreide", "fruit": "Obst", "yeast": "Hefe", "water": "Wasser", "wort": "Würze", "wash": "Maische",
    "foreshots": "Vorvorlauf", "heads": "Vorlauf", "hearts": "Mittellauf", "tails": "Nachlauf",
    "feints": "Vor- und Nachlauf", "spent": "Schlempe", "spirit": "Sprit", "botanical": "Gewürz",
    "liquid": "Flüssigkeit", "bottles": "Flaschen", "packaging": "Verpackung",
}  # fmt: skip

KINDS = {
    "malt": "Malz", "fruit": "Obst", "yeast": "Hefe", "botanical": "Gewürz", "water": "Wasser",
    "packaging": "Verpackung",
}  # fmt: skip

CONDITIONS = {"fresh": "frisch", "dried": "getrocknet"}

# What the other house itself calls its materials, recipes and products, in files and profile alike.
MATERIALS = {
    "rye malt": "Roggenmalz", "oat malt": "Hafermalz", "apples": "Äpfel", "quince": "Quitte", "water": "Wasser",
    "yeast": "Hefe", "juniper berry": "Wacholderbeere", "coriander seed": "Koriandersamen",
    "angelica root": "Angelikawurzel", "orris root": "Veilchenwurzel", "lemon peel": "Zitronenschale",
    "caraway seed": "Kümmel", "dill seed": "Dillsamen", "fennel seed": "Fenchelsamen",
    "bottle 500 mL": "Flasche 500 mL", "bottle 700 mL": "Flasche 700 mL",
}  # fmt: skip

RECIPES = {
    "rye-oat mash": "Roggen-Hafer-Maische", "apple mash": "Apfelmaische", "quillmere gin": "Wacholderbrand Moorsee",
    "quillmere gin blend": "Mischung Moorsee",
    "caraway akvavit": "Kümmelbrand", "quince steep": "Quittenansatz",
}  # fmt: skip

PRODUCTS = {
    "Rye and oat vodka": "Wodka aus Roggen und Hafer", "Distilled gin": "Destillierter Wacholder",
    "Caraway and dill akvavit": "Kümmel und Dill", "Quince steep": "Quittenauszug", "Apple spirit": "Apfelbrand",
}  # fmt: skip

HOUSE = {"Quillmere Stillhouse": "Brennerei Moorsee"}

ENGLISH = {german: english for words in (MATERIALS, RECIPES, PRODUCTS, HOUSE) for english, german in words.items()}


def lookup_back(words: dict[str, str]) -> str:
    """A source map's lookup from these German words to the program's codes, as TOML."""
    return "{ " + ", ".join(f'"{german}" = "{code}"' for code, german in words.items()) + " }"
