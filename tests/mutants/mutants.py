#!/usr/bin/env python3
"""Would the tests notice? Changes an operator or a constant at random places of the physics and the ranking, one at a time.

    mutants.py SOURCE WORK [--count 150] [--seed 1] [--only NUMBER...]

All changes are built into one copy of the program at once, each behind a switch, so that the copy is compiled once; then the
tests run once for every change, with it alone switched on. Printed: how many were noticed, and every one that was not, with
place and change, for someone to look at. Needs clang's Python binding (Debian: python3-clang-14, libclang-14-dev), CMake, Ninja.
A change that makes a test hang counts as noticed.
"""
import argparse
import concurrent.futures
import functools
import json
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import time

from clang.cindex import Config, CursorKind, Index, TypeKind

PHYSICS = ["stagemodels/solve", "stagemodels/linear", "stagemodels/circuits", "stagemodels/tubes", "stagemodels",
           "objectives/figures", "objectives/limits", "objectives/builds", "objectives"]
LEFT_OUT = ("fit", "plain", "surface_fit")  # fitting laws is not the physics of a stage
INSTEAD = {"+": "-", "-": "+", "*": "/", "/": "*", "<": ">=", ">": "<=", "<=": ">", ">=": "<", "&&": "||", "||": "&&",
           "==": "!=", "!=": "=="}
NUMBERS = {TypeKind.DOUBLE, TypeKind.BOOL, TypeKind.INT, TypeKind.LONG, TypeKind.ULONG, TypeKind.UINT}
SWITCH = """#pragma once
#include <cstdlib>
namespace mutants {
inline const int switched_on = [] { const char* n = std::getenv("MUTANT"); return n ? std::atoi(n) : 0; }();
inline bool on(int n) { return switched_on == n; }
}  // namespace mutants
"""
# Cases that take long and say little more here; the rest of each program runs in a second or two.
SLOW = ("*hundred thousand*,*own fit*,*left-out curves*,*noise of readings*,*wide and the plain*,*normal search finds*,"
        "*half the tolerance*,*independent least-squares*")
WITHOUT_SLOW = ["--abort-after=1", f"--test-case-exclude={SLOW}"]
# What tries a change, one after the other until it is noticed: target to build, command in the build of the copy. The last
# are whole searches, whose words and figures stand in the documents.
PROGRAMS = {"test_stagemodels": ["tests/test_stagemodels", *WITHOUT_SLOW],
            "test_objectives": ["tests/test_objectives", *WITHOUT_SLOW],
            "test_reference": ["tests/reference/test_reference", *WITHOUT_SLOW],
            "test_configs": ["tests/test_configs", *WITHOUT_SLOW],
            "test_results": ["tests/test_results", *WITHOUT_SLOW],
            "antiphase": [sys.executable, "../copy/tests/program/documents_test.py", "optimize/program/antiphase", "../copy"]}


def is_constant(cursor, text):
    """Something that the compiler has to work out: constexpr stands before its body or value."""
    if cursor.kind in (CursorKind.STATIC_ASSERT, CursorKind.ENUM_DECL, CursorKind.TEMPLATE_NON_TYPE_PARAMETER,
                       CursorKind.CASE_STMT):
        return True
    if not cursor.kind.is_declaration() and cursor.kind not in (CursorKind.IF_STMT, CursorKind.DECL_STMT):
        return False
    if cursor.kind in (CursorKind.NAMESPACE, CursorKind.CLASS_DECL, CursorKind.STRUCT_DECL, CursorKind.CLASS_TEMPLATE):
        return False
    head = re.match(rb"[^{=;]*", text[cursor.extent.start.offset:cursor.extent.end.offset])[0]
    return b"constexpr" in head or b"consteval" in head


@functools.cache
def text_of(path):
    return path.read_bytes()


def operator_of(cursor):
    """The operator of a binary expression and its place, from the tokens between its two sides."""
    children = list(cursor.get_children())
    if len(children) != 2:
        return None
    left, right = children
    for token in cursor.get_tokens():
        at = token.extent.start.offset
        if left.extent.end.offset <= at < right.extent.start.offset and token.spelling in INSTEAD:
            return token.spelling, left, right
    return None


def sites_of(unit, source, seen):
    """Places that may be changed: (file, start, end, text instead with {} for the switch, words)."""
    found = []

    def visit(cursor, constant, parent_is_declaration):
        where = cursor.location.file
        if where and cursor.kind != CursorKind.TRANSLATION_UNIT:
            path = pathlib.Path(where.name).resolve()
            if not path.is_relative_to(source):
                return
            name = str(path.relative_to(source))
            if str(path.parent.relative_to(source)) not in PHYSICS or any(l in path.stem for l in LEFT_OUT):
                return
            text = text_of(path)
            constant = constant or is_constant(cursor, text)
            key = (name, cursor.extent.start.offset, cursor.extent.end.offset)
            sizes_an_array = (text[:key[1]].rstrip().endswith(b"[") and parent_is_declaration or
                              re.search(rb"\barray<[^;{}]*,\s*$", text[max(0, key[1] - 120):key[1]]))
            if not constant and not sizes_an_array and key not in seen:
                if cursor.kind == CursorKind.BINARY_OPERATOR and cursor.type.get_canonical().kind in NUMBERS:
                    op = operator_of(cursor)
                    if op:
                        sign, left, right = op
                        a = text[left.extent.start.offset:left.extent.end.offset].decode()
                        b = text[right.extent.start.offset:right.extent.end.offset].decode()
                        kinds = {left.type.get_canonical().kind, right.type.get_canonical().kind}
                        if kinds <= NUMBERS:
                            seen.add(key)
                            found.append((name, key[1], key[2], f"({{}} ? ({a} {INSTEAD[sign]} {b}) : ({a} {sign} {b}))",
                                          f"{a} {sign} {b}  ->  {INSTEAD[sign]}", cursor.location.line))
                elif cursor.kind == CursorKind.FLOATING_LITERAL:
                    a = text[key[1]:key[2]].decode()
                    if a and float(a.rstrip("fFlL").replace("'", "")) != 0:
                        seen.add(key)
                        found.append((name, key[1], key[2], f"({{}} ? 1.1 * {a} : {a})", f"{a}  ->  1.1 * {a}",
                                      cursor.location.line))
        for child in cursor.get_children():
            visit(child, constant, cursor.kind.is_declaration())

    visit(unit.cursor, False, False)
    return found


def choose(sites, count, seed):
    """Places that do not overlap, drawn at random."""
    order = sorted(sites)
    random.Random(seed).shuffle(order)
    chosen = []
    for site in order:
        if all(site[0] != c[0] or site[2] <= c[1] or c[2] <= site[1] for c in chosen):
            chosen.append(site)
        if len(chosen) == count:
            break
    return chosen


def write_copy(source, copy, chosen):
    if copy.exists():
        shutil.rmtree(copy)
    shutil.copytree(source, copy, ignore=shutil.ignore_patterns(".git", "build", "build-*"))
    by_file = {}
    for number, site in enumerate(chosen, 1):
        by_file.setdefault(site[0], []).append((number, site))
    for name, sites in by_file.items():
        text = (source / name).read_bytes()
        for number, site in sorted(sites, key=lambda s: -s[1][1]):
            text = text[:site[1]] + site[3].replace("{}", f"::mutants::on({number})").encode() + text[site[2]:]
        (copy / name).write_bytes(text)
    (copy / "mutants.h").write_text(SWITCH)


def noticed(build, number, limits):
    """The program that noticed change `number`, or None."""
    for name, command in PROGRAMS.items():
        environment = dict(os.environ, MUTANT=str(number))
        try:
            done = subprocess.run(command, env=environment, cwd=build, capture_output=True, timeout=limits[name])
            if done.returncode != 0:
                return name
        except subprocess.TimeoutExpired:
            return name + " (hangs)"
    return None


def report(number, site, by, missed):
    print(f"{number:4} {site[0]}:{site[5]}: {' '.join(site[4].split())}: {by or 'NOT NOTICED'}", flush=True)
    if by is None:
        missed.append(site)


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("source", type=pathlib.Path)
    ask.add_argument("work", type=pathlib.Path)
    ask.add_argument("--count", type=int, default=150)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--jobs", type=int, default=max(1, (os.cpu_count() or 1) - 1), help="changes tried side by side")
    ask.add_argument("--only", type=int, nargs="+", help="try these of the draw alone")
    ask.add_argument("--library", default="/usr/lib/llvm-14/lib/libclang-14.so.1")
    asked = ask.parse_args()
    Config.set_library_file(asked.library)
    source, work = asked.source.resolve(), asked.work.resolve()
    work.mkdir(parents=True, exist_ok=True)
    copy, build = work / "copy", work / "build"

    subprocess.run(["cmake", "-G", "Ninja", "-S", source, "-B", work / "plain", "-DCMAKE_CXX_COMPILER=clang++",
                    "-DANTIPHASE_TESTS=OFF"], check=True, capture_output=True)
    commands = json.loads((work / "plain" / "compile_commands.json").read_text())
    sites, seen, index = [], set(), Index.create()
    for command in commands:
        file = pathlib.Path(command["file"])
        if file.suffix != ".cpp" or str(file.parent.relative_to(source)) not in PHYSICS:
            continue
        words, kept = command["command"].split(), []
        for at, word in enumerate(words):
            if word.startswith(("-I", "-D", "-std")):
                kept.append(word)
            elif word == "-isystem":
                kept += words[at:at + 2]
        unit = index.parse(str(file), args=kept + ["-std=c++20"])
        sites += sites_of(unit, source, seen)
    chosen = choose(sites, asked.count, asked.seed)
    print(f"{len(sites)} places, {len(chosen)} drawn", flush=True)

    write_copy(source, copy, chosen)
    subprocess.run(["cmake", "-G", "Ninja", "-S", copy, "-B", build, "-DANTIPHASE_REFERENCE_TESTS=ON",
                    f"-DCMAKE_CXX_FLAGS=-include {copy}/mutants.h"], check=True, capture_output=True)
    made = subprocess.run(["ninja", "-C", build, "-k", "0", *PROGRAMS], capture_output=True, text=True)
    if made.returncode != 0:
        print(made.stdout[-6000:], file=sys.stderr)
        return 2
    limits = {}
    for name, command in PROGRAMS.items():
        begin = time.monotonic()
        if subprocess.run(command, cwd=build, capture_output=True).returncode != 0:
            print(f"{name} fails without any change", file=sys.stderr)
            return 2
        limits[name] = 30 + 5 * (time.monotonic() - begin)
    missed = []
    with concurrent.futures.ThreadPoolExecutor(asked.jobs) as pool:
        numbers = asked.only or range(1, len(chosen) + 1)
        for number, by in zip(numbers, pool.map(lambda number: noticed(build, number, limits), numbers)):
            report(number, chosen[number - 1], by, missed)
    print(f"noticed {len(numbers) - len(missed)} of {len(numbers)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
