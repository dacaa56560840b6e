#!/usr/bin/env python3
"""Runs the README's commands on the sample photos and compares what they print with what it shows.

    check_readme.py PROGRAM SOURCE_FOLDER             says which output is no longer what is printed
    check_readme.py PROGRAM SOURCE_FOLDER --write     writes what is printed now into the README

A command is a block of sh, its output the block right after it. "..." there stands for anything; with
--write such a block stays as it is. Times of the day and dates are taken as alike.
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

BLOCK = r"(?:(?!```).)*?"  # Within one pair of fences.
PAIR = re.compile(rf"```sh\n(?P<commands>{BLOCK})```\n\n```\n(?P<shown>{BLOCK})```\n", re.S)


def scratch_of(source, folder):
    """What the commands look for, where they may write beside it."""
    for name in ("sample-images", "calibration"):
        (folder / name).symlink_to(source / name)


def printed(commands, program, folder):
    path = str(program.parent) + os.pathsep + os.environ["PATH"]
    environment = dict(os.environ, PATH=path, EVENBEVEL=str(program), XDG_DATA_HOME=str(folder / "data"),
                       XDG_CONFIG_HOME=str(folder / "config"))
    done = subprocess.run(["bash", "-c", commands], cwd=folder, env=environment, text=True,
                          capture_output=True, check=False)
    if done.returncode not in (0, 1):  # 1: outside, or not resolved
        sys.exit(f"exit code {done.returncode} of\n{commands}{done.stderr}")
    return done.stdout


def alike(text):
    text = re.sub(r"\d\d:\d\d:\d\d", "TIME", text)
    return re.sub(r"\d{4}-\d\d-\d\d", "DATE", text).strip()


def matches(shown, output):
    parts = [re.escape(part) for part in alike(shown).split("...")]
    return re.fullmatch(".*?".join(parts), alike(output), re.S) is not None


def main():
    program, source = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    readme = source / "README.md"
    text, wrong, pairs = readme.read_text(), [], list(PAIR.finditer(readme.read_text()))
    if len(pairs) < 10:
        sys.exit(f"only {len(pairs)} commands with their output were found in {readme}")
    with tempfile.TemporaryDirectory() as folder:
        scratch_of(source, pathlib.Path(folder))
        for pair in pairs:
            output = printed(pair["commands"], program, pathlib.Path(folder))
            if matches(pair["shown"], output):
                continue
            wrong.append(f"{pair['commands']}prints\n{output}")
            if "..." not in pair["shown"]:
                text = text.replace(pair[0], f"```sh\n{pair['commands']}```\n\n```\n{output.strip()}\n```\n")
    if "--write" in sys.argv[3:]:
        readme.write_text(text)
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
