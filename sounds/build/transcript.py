"""What a recogniser wrote down, against what was said: words, shares, and which prompt it is nearest to."""
import re
import unicodedata

# Of the letters; what is farther from every text is understood as nothing.
HALF = 0.5
NUMBERS = {
    "en": {
        "1": "one", "2": "two", "3": "three", "4": "four", "5": "five", "10": "ten",
        "15": "fifteen", "20": "twenty", "30": "thirty", "40": "forty", "50": "fifty",
        "60": "sixty",
    },
    "es": {
        "1": "uno", "2": "dos", "3": "tres", "4": "cuatro", "5": "cinco", "10": "diez",
        "15": "quince", "20": "veinte", "30": "treinta", "40": "cuarenta", "50": "cincuenta",
        "60": "sesenta",
    },
}

# Said alike, so no render could tell them apart.
HOMOPHONES = {"overdo": "overdue", "do": "due", "too": "two", "clock's": "clocks"}
# Letters that Spanish says alike (c and z as s: so it is in all of America).
SPANISH_ALIKE = (("qu", "k"), ("v", "b"), ("z", "s"), ("ce", "se"), ("ci", "si"), ("ll", "y"),
                 ("h", ""))


def language_of(pack):
    return pack.split("-")[0]


def words(text, language="en"):
    """Lower case, digits as words, what is said alike as one, punctuation and accents dropped."""
    text = re.sub(r"anti[- ]?arr?h?ythmic", "antiarrhythmic", text.lower())
    plain = unicodedata.normalize("NFD", text)
    plain = "".join(c for c in plain if unicodedata.category(c) != "Mn")
    found = re.findall(r"[a-z0-9']+", plain.replace("-", " "))
    found = [NUMBERS[language].get(word, word) for word in found]
    if language == "es":
        for letters, alike in SPANISH_ALIKE:
            found = [word.replace(letters, alike) for word in found]
        return once(found)
    return once([HOMOPHONES.get(word, word) for word in found])


def once(found):
    """In a short window a clip is at times heard over and over, until no more tokens are allowed; it was said once. The
    last time it is cut off, at times within a word; of a second time that is not whole two words at least must be there."""
    for n in range(1, len(found)):
        again = len(found) >= min(2 * n, n + 2)
        last = len(found) - 1
        if again and all(word == found[at % n] or at == last > n and found[at % n].startswith(word)
                         for at, word in enumerate(found)):
            return found[:n]
    return found


def distance(wanted, found):
    """Levenshtein's, over words or letters."""
    row = list(range(len(found) + 1))
    for i, a in enumerate(wanted, 1):
        above, row[0] = row[0], i
        for j, b in enumerate(found, 1):
            above, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, above + (a != b))
    return row[-1]


def same(wanted, found):
    """Where one word ends and the next begins is not heard: "retire la" is "retírela"."""
    return "".join(wanted) == "".join(found)


def share_right(wanted, found):
    """Word accuracy: 1 less the edits for each word wanted, never under 0."""
    if same(wanted, found):
        return 1.0
    return max(0.0, 1 - distance(wanted, found) / len(wanted))


def taken_for(found, own, texts):
    """The id of the prompt that was understood, None for nothing."""
    heard = " ".join(found)

    def apart(name):
        text = " ".join(texts[name])
        return distance(text, heard) / max(len(text), len(heard), 1)
    nearest = min(texts, key=lambda name: (apart(name), name != own))
    return nearest if apart(nearest) <= HALF else None
