"""Reads and writes the notation of project files, as far as they use it."""

import re

TOKEN = re.compile(r'\s*(?:("(?:[^"\\]|\\.)*")|(-?\d[\d_]*\.?\d*(?:[eE][-+]?\d+)?)|([A-Za-z_]\w*)|([()\[\]{}:,]))', re.S)


class Word(str):
    """A name that stands for itself, such as a variant without a value."""


class Tagged:
    """A name with a value in brackets."""

    def __init__(self, name, value):
        self.name, self.value = name, value


class Struct(dict):
    """Named fields in round brackets."""


def read(text):
    tokens = []
    place = 0
    text = text.strip()
    while place < len(text):
        match = TOKEN.match(text, place)
        if not match:
            raise ValueError(f"unknown notation at {text[place:place + 40]!r}")
        tokens.append(match.groups())
        place = match.end()
    value, rest = _value(tokens, 0)
    assert rest == len(tokens), "something follows the project"
    return value


def _value(tokens, at):
    string, number, word, sign = tokens[at]
    if string is not None:
        return _unescaped(string), at + 1
    if number is not None:
        return (float(number) if re.search(r"[.eE]", number) else int(number)), at + 1
    if word is not None:
        if word in ("true", "false"):
            return word == "true", at + 1
        if at + 1 < len(tokens) and tokens[at + 1][3] == "(":
            value, after = _value(tokens, at + 1)
            return Tagged(word, value), after
        return Word(word), at + 1
    if sign == "(":
        return _round(tokens, at + 1)
    if sign == "[":
        return _list(tokens, at + 1, "]")
    if sign == "{":
        pairs, at = {}, at + 1
        while tokens[at][3] != "}":
            key, at = _value(tokens, at)
            value, at = _value(tokens, at + 1)
            pairs[key] = value
            at += tokens[at][3] == ","
        return pairs, at + 1
    raise ValueError(f"unexpected {sign!r}")


def _round(tokens, at):
    if tokens[at][2] is not None and tokens[at + 1][3] == ":":
        fields = Struct()
        while tokens[at][3] != ")":
            name = tokens[at][2]
            fields[name], at = _value(tokens, at + 2)
            at += tokens[at][3] == ","
        return fields, at + 1
    values, at = _list(tokens, at, ")")
    return tuple(values), at


def _list(tokens, at, end):
    values = []
    while tokens[at][3] != end:
        value, at = _value(tokens, at)
        values.append(value)
        at += tokens[at][3] == ","
    return values, at + 1


def _unescaped(string):
    simple = {"n": "\n", "r": "\r", "t": "\t", "0": "\0"}

    def one(match):
        code = match.group(1)
        return chr(int(code[2:-1], 16)) if code[0] == "u" else simple.get(code, code)

    return re.sub(r"\\(u\{[0-9a-fA-F]+\}|.)", one, string[1:-1])


def write(value):
    if isinstance(value, Word):
        return str(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, Struct):
        return "(" + ", ".join(f"{name}: {write(field)}" for name, field in value.items()) + ")"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{write(key)}: {write(item)}" for key, item in value.items()) + "}"
    if isinstance(value, tuple):
        return "(" + ", ".join(write(item) for item in value) + ")"
    if isinstance(value, list):
        return "[" + ", ".join(write(item) for item in value) + "]"
    if isinstance(value, Tagged):
        inner = write(value.value)
        return value.name + inner
    raise TypeError(type(value))
