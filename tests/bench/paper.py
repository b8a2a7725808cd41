"""The labels of a file once more, by reportlab: the same texts, symbols and square codes as vectors, on pages of the same size.

Usage: paper.py LABELS.pdf OUT.pdf. Prints seconds and peak kilobytes. Reading LABELS.pdf is not timed, starting Python
and loading reportlab is. Type has one size: nothing is tried until it fits, which is less than the program does.
"""

import re
import resource
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FONTS = ROOT / "src/render/pdf/fonts"

labels, out = sys.argv[1:]
text = subprocess.run(["pdftotext", labels, "-"], capture_output=True, text=True, check=True).stdout
pages = text.split("\f")[:-1]
info = subprocess.run(["pdfinfo", "-l", str(len(pages)), labels], capture_output=True, text=True, check=True).stdout
sizes = [(float(w), float(h)) for w, h in re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+)", info)]
read = time.clock_gettime(time.CLOCK_MONOTONIC)

# What was spent before: starting Python.
began = read - time.process_time()

from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

SYMBOLS = {"peroxide": ["GHS03", "GHS05", "GHS07"], "hypochlorite": ["GHS05", "GHS09"], "copper": ["GHS05", "GHS07", "GHS09"]}


def path(canvas, described):
    """A path of an SVG file; arcs as straight lines, which is less work."""
    drawn = canvas.beginPath()
    tokens = re.findall(r"[A-Za-z]|-?[\d.]+(?:e-?\d+)?", described)
    x = y = x0 = y0 = 0.0
    at, command = 0, "M"
    while at < len(tokens):
        if tokens[at].isalpha():
            command = tokens[at]
            at += 1
        kind, relative = command.upper(), command.islower()
        count = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "A": 7, "Z": 0}[kind]
        numbers = [float(token) for token in tokens[at : at + count]]
        at += count
        if kind == "Z":
            drawn.close()
            x, y = x0, y0
            continue
        dx, dy = (x, y) if relative else (0.0, 0.0)
        if kind == "H":
            ends = [(numbers[0] + dx, y)]
        elif kind == "V":
            ends = [(x, numbers[0] + dy)]
        elif kind == "A":
            ends = [(numbers[5] + dx, numbers[6] + dy)]
        else:
            ends = [(numbers[i] + dx, numbers[i + 1] + dy) for i in range(0, count, 2)]
        flat = [value for px, py in ends for value in (px, 100 - py)]
        if kind == "M":
            drawn.moveTo(*flat)
            x0, y0 = ends[0]
            command = "l" if relative else "L"
        elif kind == "C":
            drawn.curveTo(*flat)
        else:
            drawn.lineTo(*flat[-2:])
        x, y = ends[-1]
    return drawn


def symbol(canvas, name):
    canvas.beginForm(name, 0, 0, 100, 100)
    for attributes in re.findall(r"<path([^>]*)>", (ROOT / f"hazards/pictograms/{name}.svg").read_text()):
        fill = re.search(r'fill="(\w+)"', attributes)
        canvas.setFillColor(fill.group(1) if fill else "black")
        canvas.drawPath(path(canvas, re.search(r' d="([^"]*)"', attributes).group(1)), stroke=0, fill=1)
    canvas.endForm()


pdfmetrics.registerFont(TTFont("R", str(FONTS / "DejaVuSansCondensed.ttf")))
pdfmetrics.registerFont(TTFont("B", str(FONTS / "DejaVuSansCondensed-Bold.ttf")))
canvas = Canvas(out, pageCompression=1)
for name in sorted({name for names in SYMBOLS.values() for name in names}):
    symbol(canvas, name)
plain = ParagraphStyle("plain", fontName="R", fontSize=5.5, leading=6.8)
strong = ParagraphStyle("strong", fontName="B", fontSize=9, leading=11)
for words, (width, height) in zip(pages, sizes):
    canvas.setPageSize((width, height))
    side = 0.2 * width
    lines = words.splitlines()
    code = QrCodeWidget(" ".join(lines[:3])[:90], barWidth=side, barHeight=side, barLevel="M")
    drawing = Drawing(side, side)
    drawing.add(code)
    renderPDF.draw(drawing, canvas, width - side - 7, height - side - 7)
    names = next((names for key, names in SYMBOLS.items() if key in words.lower()), [])
    y = height - 7
    for number, paragraph in enumerate(re.split(r"\n\s*\n", words)):
        joined = " ".join(paragraph.split()).replace("&", "&amp;").replace("<", "&lt;")
        if not joined:
            continue
        beside = y > height - side - 14
        set_ = Paragraph(joined, strong if number < 2 else plain)
        _, high = set_.wrap(width - 14 - (side + 6 if beside else 0), height)
        y -= high
        set_.drawOn(canvas, 7, y)
    for number, name in enumerate(names):
        canvas.saveState()
        canvas.translate(7 + number * 30, height - side - 7)
        canvas.scale(0.28, 0.28)
        canvas.doForm(name)
        canvas.restoreState()
    canvas.showPage()
canvas.save()
seconds = time.clock_gettime(time.CLOCK_MONOTONIC) - began
print(f"{seconds:.2f} {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss}")
