"""Finds what can be mutated in C++ sources, and writes copies of them that hold every mutant behind a number (switch.h).

Not mutated: texts, the tables of constant expressions, anything that decides a type or a size.
"""
import collections
import json
import pathlib
import re
import shlex

from clang import cindex
from clang.cindex import CursorKind as Kind

SPACE = "::downfit::mutation::"
OPERATORS = {"==": "is", "!=": "differs", "<": "below", "<=": "at_most", ">": "above", ">=": "at_least"}
ORDERED = {"<": ["<=", ">"], "<=": ["<", ">="], ">": [">=", "<"], ">=": [">", "<="], "==": ["!=", "<=", ">="],
           "!=": ["==", "<", ">"]}
EQUALITY = {"==": ["!="], "!=": ["=="]}
ARITHMETIC = {"+": ("sum", "-"), "-": ("difference", "+"), "*": ("product", "/"), "/": ("quotient", "*")}
COMPOUND = {"+=": ("add", "-="), "-=": ("subtract", "+=")}
EXTREMES = {"max": ("larger", "min"), "min": ("smaller", "max"), "any_of": ("any_of", "all_of"),
            "all_of": ("all_of", "any_of")}
FUNCTIONS = {Kind.FUNCTION_DECL, Kind.CXX_METHOD, Kind.CONSTRUCTOR, Kind.DESTRUCTOR, Kind.FUNCTION_TEMPLATE,
             Kind.CONVERSION_FUNCTION}
LOOPS = {Kind.FOR_STMT, Kind.CXX_FOR_RANGE_STMT, Kind.WHILE_STMT}
STATEMENTS = LOOPS | {Kind.IF_STMT, Kind.SWITCH_STMT, Kind.RETURN_STMT, Kind.DECL_STMT, Kind.DO_STMT}
NUMBERS = {"BOOL", "CHAR_S", "CHAR_U", "SCHAR", "UCHAR", "SHORT", "USHORT", "INT", "UINT", "LONG", "ULONG", "LONGLONG",
           "ULONGLONG", "FLOAT", "DOUBLE"}
OUTSIDE = "250"  # no enumeration has that many values
LONGEST = 60  # characters of a statement shown on either side of what is changed, and of that itself

Mutant = collections.namedtuple("Mutant", "id file line function context old new count")


def name_of(mutant):
    """What a mutant is called: the same as long as its statement stays what it is."""
    again = f" #{mutant.count}" if mutant.count > 1 else ""
    change = f"{mutant.old} -> {mutant.new or 'nothing'}" if mutant.old else mutant.new
    return (mutant.file, mutant.function, mutant.context, change + again)


def flat(text):
    return re.sub(r"\s+", " ", re.sub(r"//[^\n]*", "", text)).strip()


def is_number(cursor):
    return cursor.type.get_canonical().kind.name in NUMBERS


def is_plain_number(cursor):
    kind = cursor.type.get_canonical().kind.name
    return kind in NUMBERS and kind != "BOOL"


class File:
    """A source and the changes to it. Only insertions and replacements of single tokens, so that changes nest."""

    def __init__(self, path):
        self.path = path
        self.text = path.read_bytes().decode("latin-1")  # one character a byte, as libclang counts
        self.changes = []  # (place, end, order, text)

    def insert(self, place, text, depth, closes):
        # Where several meet: what closes comes before what opens; the inner closes first and opens last.
        self.changes.append((place, place, (0, -depth) if closes else (1, depth), text))

    def replace(self, start, end, text):
        self.changes.append((start, end, (2, 0), text))

    def wrap(self, start, end, before, after, depth):
        self.insert(start, before, depth, False)
        self.insert(end, after, depth, True)

    def changed(self):
        parts = []
        at = 0
        for start, end, _, text in sorted(self.changes, key=lambda change: (change[0], change[2])):
            parts += [self.text[at:start], text]
            at = max(at, end)
        return '#include "mutation/switch.h"\n' + "".join(parts) + self.text[at:]


class Finder:
    def __init__(self, root, folder):
        self.root = root
        self.folder = root / folder
        self.files = {path.name: File(path) for path in sorted(self.folder.glob("*")) if path.suffix in (".h", ".cpp")}
        self.mutants = []
        self.counts = collections.Counter()
        self.constants = {}  # by the declaration's USR
        self.seen = set()
        self.operators = set()  # (file, place) of those that are changed

    # --- walking

    def read(self, path, arguments):
        unit = cindex.Index.create().parse(str(path), args=arguments)
        errors = [str(problem) for problem in unit.diagnostics if problem.severity >= cindex.Diagnostic.Error]
        if errors:
            raise SystemExit(f"{path}: clang cannot read it: {errors[0]}")
        ours = {str(file.path): file for file in self.files.values()}
        done = set()
        for cursor in unit.cursor.get_children():
            file = cursor.location.file
            if file is None or file.name not in ours or (file.name, cursor.extent.start.offset) in self.seen:
                continue
            done.add((file.name, cursor.extent.start.offset))
            self.file = ours[file.name]
            self.walk(cursor, [], "")
        self.seen |= done

    def walk(self, cursor, above, function):
        """Visits a cursor below those of `above`."""
        kind = cursor.kind
        # A default argument belongs to the definition too, but stands in a header alone.
        if cursor.location.file is not None and cursor.location.file.name != str(self.file.path):
            return
        if kind in FUNCTIONS:
            text = self.source(cursor)
            if "= default" in text[-12:] or text.startswith("constexpr"):
                return
            owner = cursor.semantic_parent
            owner_name = owner.spelling + "::" if owner is not None and owner.kind in (
                Kind.CLASS_DECL, Kind.STRUCT_DECL) else ""
            function = owner_name + cursor.spelling
        if kind in (Kind.STATIC_ASSERT, Kind.ENUM_DECL):
            return
        if kind == Kind.VAR_DECL and "constexpr" in self.source(cursor)[:40].split("=")[0]:
            return
        if kind in (Kind.CLASS_DECL, Kind.STRUCT_DECL) and not function:
            self.within = cursor.spelling
        children = list(cursor.get_children())
        if kind == Kind.CASE_STMT:
            children_to_walk = children[1:]
        else:
            children_to_walk = children
        self.function = function or self.member_name(above, cursor)
        self.above = above
        self.depth = len(above)
        self.visit(cursor, kind, children)
        for child in children_to_walk:
            self.walk(child, above + [cursor], function)

    @staticmethod
    def member_name(above, cursor):
        names = [parent.spelling for parent in above + [cursor]
                 if parent.kind in (Kind.CLASS_DECL, Kind.STRUCT_DECL, Kind.FIELD_DECL)]
        return "::".join(names)

    def source(self, cursor):
        return self.file.text[cursor.extent.start.offset:cursor.extent.end.offset]

    # --- what a mutant is called

    def context(self, start, end):
        """The statement that holds a piece, up to its body, shortened around the piece."""
        first, last = start, end
        for parent in reversed(self.above + [self.cursor]):
            is_statement = parent.kind in STATEMENTS or parent.kind in (Kind.FIELD_DECL, Kind.CONSTRUCTOR)
            outer = self.parent_of(parent)
            if not is_statement and outer is not None and outer.kind not in (
                    Kind.COMPOUND_STMT, Kind.IF_STMT, Kind.FOR_STMT, Kind.CXX_FOR_RANGE_STMT, Kind.CASE_STMT,
                    Kind.DEFAULT_STMT, Kind.WHILE_STMT):
                continue
            if parent.kind in (Kind.COMPOUND_STMT, Kind.CASE_STMT, Kind.DEFAULT_STMT):
                continue
            first, last = parent.extent.start.offset, parent.extent.end.offset
            if parent.kind in LOOPS | {Kind.IF_STMT, Kind.SWITCH_STMT}:
                body = [child for child in parent.get_children()]
                after = [child.extent.start.offset for child in body if child.extent.start.offset >= end]
                statements = [child.extent.start.offset for child in body
                              if child.kind == Kind.COMPOUND_STMT and child.extent.start.offset >= end]
                if statements or after:
                    last = min(statements or after)
                else:
                    last = end
            if first <= start and end <= last:
                break
        before = flat(self.file.text[first:start])
        piece = flat(self.file.text[start:end])
        after = flat(self.file.text[end:last])
        gap = " " if self.file.text[start - 1:start].isspace() and before else ""
        tail = " " if self.file.text[end:end + 1].isspace() and after else ""
        if len(before) > LONGEST:
            before = "…" + before[-LONGEST:].lstrip()
        if len(after) > LONGEST:
            after = after[:LONGEST].rstrip() + "…"
        if len(piece) > 2 * LONGEST:
            piece = f"{piece[:LONGEST].rstrip()} … {piece[-LONGEST:].lstrip()}"
        return f"{before}{gap}[{piece}]{tail}{after}"

    def parent_of(self, cursor):
        line = self.above + [self.cursor]
        at = next((i for i, parent in enumerate(line) if parent == cursor), 0)
        return line[at - 1] if at > 0 else None

    def add(self, start, end, old, new, context=None):
        """A new mutant; its number."""
        context = context or self.context(start, end)
        key = (self.file.path.name, self.function, context, old, new)
        self.counts[key] += 1
        line = self.file.text.count("\n", 0, start) + 1
        number = len(self.mutants) + 1
        self.mutants.append(Mutant(number, self.file.path.name, line, self.function, context, flat(old), flat(new),
                                   self.counts[key]))
        return number

    # --- the kinds

    def visit(self, cursor, kind, children):
        self.cursor = cursor
        start, end = cursor.extent.start.offset, cursor.extent.end.offset
        in_function = any(parent.kind == Kind.COMPOUND_STMT for parent in self.above)
        if kind == Kind.BINARY_OPERATOR and len(children) == 2:
            self.operator(cursor, children[0], children[1], *self.between(children[0], children[1]))
        elif kind == Kind.CALL_EXPR and cursor.spelling.startswith("operator") and len(children) == 3:
            place = children[1].extent
            self.operator(cursor, children[0], children[2], place.start.offset, place.end.offset)
        elif kind == Kind.COMPOUND_ASSIGNMENT_OPERATOR and is_plain_number(children[0]):
            at, to = self.between(children[0], children[1])
            symbol = self.file.text[at:to]
            if symbol in COMPOUND:
                word, other = COMPOUND[symbol]
                number = self.add(at, to, symbol, other)
                self.file.wrap(start, end, f"{SPACE}{word}({number}, ", ")", self.depth)
                self.file.replace(at, to, ",")
        elif kind == Kind.UNARY_OPERATOR and self.file.text[start] == "!" and self.file.text[start + 1] != "=":
            number = self.add(start, end, "!", "")
            self.file.replace(start, start + 1, f"{SPACE}negate({number}, static_cast<bool>(")
            self.file.insert(end, "))", self.depth, True)
        elif kind == Kind.CXX_BOOL_LITERAL_EXPR:
            self.choose(start, end, {"true": ["false"], "false": ["true"]}[self.file.text[start:end]])
        elif kind in (Kind.INTEGER_LITERAL, Kind.FLOATING_LITERAL):
            self.literal(start, end, kind)
        elif kind == Kind.DECL_REF_EXPR and cursor.referenced is not None:
            if cursor.referenced.kind == Kind.ENUM_CONSTANT_DECL:
                self.enumerator(cursor, start, end)
            elif cursor.referenced.kind == Kind.VAR_DECL and in_function:
                self.constant(cursor.referenced, start, end)
        elif kind == Kind.CALL_EXPR and cursor.spelling in EXTREMES and in_function:
            self.extreme(cursor, children, start, end)
        elif kind == Kind.CONDITIONAL_OPERATOR:
            self.force(children[0])
        elif kind == Kind.IF_STMT:
            self.condition(children)
        elif kind == Kind.SWITCH_STMT:
            self.switch(children)
        self.statement(cursor, kind, start, end)

    def between(self, left, right):
        """Where the operator between two operands stands."""
        at, to = left.extent.end.offset, right.extent.start.offset
        text = self.file.text[at:to]
        found = re.search(r"[-+*/<>=!&|%^]+|\b(and|or|not_eq)\b", re.sub(r"//[^\n]*", lambda m: " " * len(m[0]), text))
        return (at + found.start(), at + found.end()) if found else (at, at)

    def operator(self, cursor, left, right, at, to):
        symbol = self.file.text[at:to]
        start, end = left.extent.start.offset, right.extent.end.offset
        if end <= to or at <= start or (self.file.path.name, at) in self.operators:
            return  # one that C++20 has rewritten is shown twice, or with itself as an operand
        self.operators.add((self.file.path.name, at))
        if symbol in OPERATORS:
            numbers = is_plain_number(left) and is_plain_number(right)
            others = ORDERED[symbol] if numbers or symbol not in EQUALITY else EQUALITY[symbol]
            ids = [self.add(start, end, symbol, other) for other in others]
            words = ", ".join(f"{SPACE}Op::{OPERATORS[each]}" for each in [symbol] + others)
            self.file.wrap(start, end, f"{SPACE}compare<{words}>({ids[0]}, ", ")", self.depth)
            self.file.replace(at, to, ",")
        elif symbol in ("&&", "||"):
            word, other = ("both", "||") if symbol == "&&" else ("either", "&&")
            number = self.add(start, end, symbol, other)
            self.file.wrap(start, end, f"(({SPACE}{word}_left({number}, static_cast<bool>(",
                           f"))) != {SPACE}is({number}))", self.depth)
            self.file.replace(at, to, f")) {symbol} {SPACE}{word}_right({number}, static_cast<bool>(")
        elif symbol in ARITHMETIC and is_number(left) and is_number(right):
            word, other = ARITHMETIC[symbol]
            number = self.add(start, end, symbol, other)
            self.file.wrap(start, end, f"{SPACE}{word}({number}, ", ")", self.depth)
            self.file.replace(at, to, ",")

    def choose(self, start, end, others):
        text = self.file.text[start:end]
        ids = [self.add(start, end, text, other) for other in others]
        values = "".join(f", decltype({text})({other})" for other in others)
        self.file.wrap(start, end, f"{SPACE}choose({ids[0]}, ", values + ")", self.depth)

    def literal(self, start, end, kind):
        text = self.file.text[start:end]
        parent = next(each for each in reversed(self.above) if each.kind not in (Kind.UNEXPOSED_EXPR, Kind.PAREN_EXPR))
        if parent.kind in (Kind.DECL_REF_EXPR, Kind.MEMBER_REF_EXPR, Kind.TYPE_REF, Kind.TEMPLATE_REF):
            return
        if parent.kind in FUNCTIONS and not (parent.kind == Kind.CONSTRUCTOR and start > parent.location.offset):
            return
        if parent.kind in (Kind.VAR_DECL, Kind.FIELD_DECL, Kind.PARM_DECL) and (
                start < parent.location.offset or self.file.text[:start].rstrip().endswith("[")):
            return
        if parent.kind == Kind.FIELD_DECL and parent.is_bitfield():
            return
        number = re.match(r"0[xX][0-9a-fA-F']+|[0-9.]+(?:[eE][-+]?[0-9]+)?", text)
        if number is None:  # it comes out of a macro
            return
        number = number[0]
        if self.file.text[:start].endswith("-") and self.above[-1].kind == Kind.UNARY_OPERATOR:
            others = ["0"] if number == "1" else [f"{text} + 1"]
        elif kind == Kind.INTEGER_LITERAL:
            value = int(number.replace("'", ""), 0)
            others = [str(value + 1)] + (["0"] if value == 1 else [])
        else:
            others = [f"{text} + 1"]
        self.choose(start, end, others)

    def enumerator(self, cursor, start, end):
        values = [value for value in cursor.referenced.semantic_parent.get_children()
                  if value.kind == Kind.ENUM_CONSTANT_DECL]
        at = next(i for i, value in enumerate(values) if value.spelling == cursor.referenced.spelling)
        text = self.file.text[start:end]
        if len(values) < 2 or not text.endswith(cursor.referenced.spelling):
            return
        prefix = text[:len(text) - len(cursor.referenced.spelling)]
        self.choose(start, end, [prefix + values[(at + 1) % len(values)].spelling])

    def constant(self, declared, start, end):
        """A use of a constant of these sources: one mutant for all its uses."""
        place = declared.location.file
        if place is None or pathlib.Path(place.name).parent != self.folder or not is_plain_number(declared):
            return
        home = self.files[pathlib.Path(place.name).name]
        text = home.text[declared.extent.start.offset:declared.extent.end.offset]
        if "constexpr" not in text or self.above[-1].kind in (Kind.VAR_DECL, Kind.FIELD_DECL, Kind.PARM_DECL):
            return
        usr = declared.get_usr() or f"{place.name}:{declared.extent.start.offset}"
        if usr not in self.constants:
            line = home.text.count("\n", 0, declared.extent.start.offset) + 1
            number = len(self.mutants) + 1
            self.mutants.append(Mutant(number, home.path.name, line, "", flat(text), declared.spelling,
                                       declared.spelling + " + 1", 1))
            self.constants[usr] = number
        used = self.file.text[start:end]
        self.file.wrap(start, end, f"{SPACE}choose({self.constants[usr]}, ", f", std::remove_cvref_t<decltype({used})>({used} + 1))",
                       self.depth)

    def extreme(self, cursor, children, start, end):
        text = self.file.text[start:end]
        found = re.match(r"std::(max|min|any_of|all_of)\b[^(]*\(", text)
        if not found or len(children) != (3 if found[1] in ("max", "min") else 4):
            return
        word, other = EXTREMES[found[1]]
        name_end = start + len("std::" + found[1])
        number = self.add(start, end, "std::" + found[1], "std::" + other)
        self.file.replace(start, name_end, SPACE + word)
        self.file.insert(start + found.end(), f"{number}, ", self.depth, False)

    def force(self, condition, only_false=False):
        start, end = condition.extent.start.offset, condition.extent.end.offset
        if only_false:
            number = self.add(start, end, "", "false")
            self.file.wrap(start, end, f"{SPACE}suppress({number}, static_cast<bool>(", "))", self.depth)
            return
        number = self.add(start, end, "", "true")
        self.add(start, end, "", "false")
        self.file.wrap(start, end, f"{SPACE}force({number}, static_cast<bool>(", "))", self.depth)

    def condition(self, children):
        declared = [child for child in children if child.kind == Kind.VAR_DECL]
        rest = [child for child in children if child.kind not in (Kind.VAR_DECL, Kind.DECL_STMT)]
        if not declared:
            return self.force(rest[0])
        # Taken as true, what is declared would be used without being there.
        end = declared[0].extent.end.offset
        start = declared[0].extent.start.offset
        number = self.add(start, end, "", "false")
        self.file.insert(end, f"; {SPACE}suppress({number}, static_cast<bool>({declared[0].spelling}))", self.depth, True)

    def switch(self, children):
        body = children[-1]
        looked_at = children[-2]
        groups = []  # (labels, first statement)
        has_default = False
        for child in body.get_children():
            labels = []
            while child.kind in (Kind.CASE_STMT, Kind.DEFAULT_STMT):
                below = list(child.get_children())
                if child.kind == Kind.CASE_STMT:
                    labels.append(below[0])
                else:
                    labels.append(None)
                    has_default = True
                child = below[-1]
            if labels:
                groups.append((labels, child))
        start, end = looked_at.extent.start.offset, looked_at.extent.end.offset
        before = after = ""
        value = self.file.text[start:end]
        for i, (labels, first) in enumerate(groups):
            for label in labels:
                if any(each is None for each in labels):
                    continue
                text = self.source(label)
                others = []
                if i + 1 < len(groups) and all(each is not None for each in groups[i + 1][0]):
                    others.append((self.source(groups[i + 1][0][0]), self.source(groups[i + 1][0][0])))
                if has_default or first.kind != Kind.BREAK_STMT:
                    others.append((f"static_cast<std::remove_cvref_t<decltype({value})>>({OUTSIDE})",
                                   "default" if has_default else "no case"))
                for code, shown in others:
                    number = self.add(label.extent.start.offset, label.extent.end.offset, "", f"as {shown}",
                                      f"switch ({flat(value)}) case [{text}]")
                    before = f"{SPACE}steer({number}, " + before
                    after += f", {text}, {code})"
        if before:
            self.file.wrap(start, end, before, after, self.depth)

    def statement(self, cursor, kind, start, end):
        """A statement that is an assignment, a call or a loop: skipped."""
        parent = self.above[-1] if self.above else None
        if parent is None or not self.is_statement_of(cursor, parent):
            return
        text = self.file.text[start:end]
        calls = kind in (Kind.CALL_EXPR, Kind.BINARY_OPERATOR, Kind.COMPOUND_ASSIGNMENT_OPERATOR, Kind.UNARY_OPERATOR,
                         Kind.UNEXPOSED_EXPR)
        if not (calls or kind in LOOPS) or text.startswith("(void)"):
            return
        number = self.add(start, self.header_end(cursor) if kind in LOOPS else end, "", "skipped")
        self.file.insert(start, f"if ({SPACE}on({number})) {{}} else ", self.depth - 0.5, False)

    @staticmethod
    def header_end(cursor):
        return list(cursor.get_children())[-1].extent.start.offset

    @staticmethod
    def is_statement_of(cursor, parent):
        if parent.kind == Kind.COMPOUND_STMT:
            return True
        children = list(parent.get_children())
        if parent.kind in LOOPS:
            return children[-1] == cursor
        if parent.kind in (Kind.CASE_STMT, Kind.DEFAULT_STMT):
            return children[-1] == cursor
        if parent.kind == Kind.IF_STMT:
            rest = [child for child in children if child.kind not in (Kind.VAR_DECL, Kind.DECL_STMT)]
            return cursor in rest[1:]
        return False


def compile_arguments(command):
    """A compile command without its compiler, its output and what is precompiled."""
    words = shlex.split(command)[1:]
    kept = []
    skip = False
    for word, following in zip(words, words[1:] + [""]):
        if skip:
            skip = False
        elif word in ("-o", "-c", "-include"):
            skip = True
        elif word.startswith(("-W", "-Werror")):
            continue
        else:
            kept.append(word)
    return kept


class Found:
    """What a finder found, and nothing of clang: fit to be kept."""

    def __init__(self, finder):
        self.folder = finder.folder
        self.mutants = finder.mutants
        self.texts = {name: file.changed().encode("latin-1") for name, file in finder.files.items()}


def find(root, folder, build):
    """All mutants of the sources of a folder, and its changed sources."""
    finder = Finder(root, folder)
    for entry in json.loads((build / "compile_commands.json").read_text()):
        path = pathlib.Path(entry["file"])
        if path.parent == finder.folder:
            finder.read(path, [word for word in compile_arguments(entry["command"]) if word != str(path)])
    return Found(finder)
