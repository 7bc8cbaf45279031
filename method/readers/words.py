"""Every word of the readers: messages, mends, questions, choices and remarks, by id."""

from method.readers import format_words
from method.words import gettext_noop

MESSAGES = {
    "empty": gettext_noop("The file is empty."),
    "too-large": gettext_noop("The file has %(size)s bytes; at most %(limit)s are read."),
    "not-text": gettext_noop("This is not a text file (it looks like %(looks)s)."),
    "encoding": gettext_noop("The characters cannot be read as %(encoding)s."),
    "control-character": gettext_noop("The character with code %(code)s is not allowed in text."),
    "no-wavelengths": gettext_noop(
        "No row and no column with at least %(least)s rising wavelengths in nm was found."
    ),
    "quotes": gettext_noop("The quotation marks do not close as they should."),
    "too-many-rows": gettext_noop("The table has more than %(limit)s rows."),
    "too-many-columns": gettext_noop("The table has more than %(limit)s columns."),
    "cell-too-long": gettext_noop("A cell has %(size)s characters; at most %(limit)s are read."),
    "grid-fractional": gettext_noop("The wavelength %(wavelength)s nm is not a whole number."),
    "grid-uneven": gettext_noop(
        "The wavelengths do not go in one step: %(before)s nm is followed by %(after)s nm."
    ),
    "cells-missing": gettext_noop("The row has %(found)s cells; the header has %(expected)s."),
    "cells-too-many": gettext_noop("The row has %(found)s cells; the header has %(expected)s."),
    "number-missing": gettext_noop("The reading is missing."),
    "not-number": gettext_noop("“%(text)s” is not a number."),
    "decimal-mixed": gettext_noop(
        "“%(text)s” is written with a decimal %(this)s, other numbers with a decimal %(other)s."
    ),
    "label-missing": gettext_noop("The reading has no label."),
    "label-too-long": gettext_noop("The label has %(size)s characters; at most %(limit)s."),
    "no-readings": gettext_noop("There are wavelengths but no readings."),
    "several-tables": gettext_noop("A second table begins here."),
    "line-not-understood": gettext_noop("This line belongs to no wavelength."),
    "not-reflectance": gettext_noop(
        "The largest value is %(largest)s: these are not reflectances of a surface."
    ),
    "negative-throughout": gettext_noop(
        "The reading “%(label)s” is below zero throughout: this is no reflectance."
    ),
    "far-below-zero": gettext_noop(
        "The value %(value)s of “%(label)s” is further below zero than any reading error."
    ),
    "answer-missing": gettext_noop("The question “%(question)s” has not been answered."),
    "answer-unknown": gettext_noop("There is no question “%(question)s” for this file."),
    "answer-invalid": gettext_noop("“%(answer)s” is no answer to “%(question)s”."),
    "mapping-differs": gettext_noop("The file, read again, does not give the recorded mapping."),
    "line-too-long": gettext_noop("The line has more than %(limit)s characters."),
    "keywords-too-long": gettext_noop("The keywords have more than %(limit)s characters."),
    "too-many-keywords": gettext_noop("The file has more than %(limit)s keywords."),
    "too-many-tables": gettext_noop("The file holds more than %(limit)s tables."),
    "formula": gettext_noop("“%(text)s” is a formula; formulas are never computed."),
    "text-too-many-cells": gettext_noop("The table has more than %(limit)s cells."),
    "bands-declined": gettext_noop(
        "The wavelengths go in steps of %(step)s nm; whole steps are kept only."
    ),
    "no-spectra": gettext_noop(
        "The file holds no spectra: it states colours (%(fields)s) of %(count)s specimens."
    ),
    "no-values": gettext_noop("The file names %(count)s objects and gives no values for them."),
    "light": gettext_noop("The table holds the spectrum of a light, not of a surface."),
    "transmittance": gettext_noop("The table holds transmittances, not reflectances."),
    "no-such-table": gettext_noop("There is no table “%(table)s” in the file."),
    "pairs-differ": gettext_noop(
        "The reading stands at %(found)s nm where the first one stands at %(expected)s nm."
    ),
    **format_words.MESSAGES,
}

MENDS = {
    "empty": gettext_noop("Export the measurement again and upload that file."),
    "too-large": gettext_noop("Split the export into several files."),
    "not-text": gettext_noop("Export the measurement as CSV or tab-separated text."),
    "encoding": gettext_noop("Save the file as UTF-8 text."),
    "control-character": gettext_noop("Save the file as plain UTF-8 text."),
    "no-wavelengths": gettext_noop(
        "Give one row (or one column) of wavelengths such as 400, 410, 420 or nm400, nm410, nm420."
    ),
    "quotes": gettext_noop("Close the quotation mark, or double it inside a quoted cell."),
    "too-many-rows": gettext_noop("Split the export into several files."),
    "too-many-columns": gettext_noop("Split the export into several files."),
    "cell-too-long": gettext_noop("Check that the separator between cells is what you meant."),
    "grid-fractional": gettext_noop("Export the spectra in whole steps of 5, 10 or 20 nm."),
    "grid-uneven": gettext_noop(
        "Export every wavelength once, in one step; leave no wavelength out."
    ),
    "cells-missing": gettext_noop("Complete the row, or remove it if it is no reading."),
    "cells-too-many": gettext_noop(
        "Remove the extra cells; where commas are decimal marks, separate cells by semicolons."
    ),
    "number-missing": gettext_noop("Measure again; a missing value is never filled in."),
    "not-number": gettext_noop("Write a number such as 0.123, or remove the row."),
    "decimal-mixed": gettext_noop("Write all numbers with the same decimal mark."),
    "label-missing": gettext_noop("Write the specimen's label into the label column."),
    "label-too-long": gettext_noop("Shorten the label."),
    "no-readings": gettext_noop("Export the readings together with the wavelengths."),
    "several-tables": gettext_noop("Give each table a file of its own."),
    "line-not-understood": gettext_noop("Remove the line, or begin it with # if it is a remark."),
    "not-reflectance": gettext_noop(
        "Upload reflectance factors (0 to 1) or percent (0 to 100), not emission or counts."
    ),
    "negative-throughout": gettext_noop(
        "Calibrate on black and white, measure again, and upload the reflectances themselves."
    ),
    "far-below-zero": gettext_noop(
        "Calibrate on black and white and measure again, or check the scale of the values."
    ),
    "answer-missing": gettext_noop("Answer the question and confirm again."),
    "answer-unknown": gettext_noop("Answer only the questions that were asked."),
    "answer-invalid": gettext_noop("Choose one of the answers offered."),
    "mapping-differs": gettext_noop("Use the file and the mapping that belong together."),
    "line-too-long": gettext_noop("Check that the file is a table of text, one row on a line."),
    "keywords-too-long": gettext_noop("Split the export into several files."),
    "too-many-keywords": gettext_noop("Split the export into several files."),
    "too-many-tables": gettext_noop("Split the export into several files."),
    "formula": gettext_noop("Save the values themselves, or open the workbook and save it again."),
    "text-too-many-cells": gettext_noop("Split the export into several files."),
    "bands-declined": gettext_noop("Export the spectra in whole steps of 5, 10 or 20 nm."),
    "no-spectra": gettext_noop(
        "Export the spectral reflectances: colours alone cannot be judged under other lights."
    ),
    "no-values": gettext_noop("Export the spectral reflectances of the objects."),
    "light": gettext_noop(
        "Upload reflectances. A lamp's spectrum is no reading: add it as another document, with the"
        " booth's report."
    ),
    "transmittance": gettext_noop("Measure and export reflectances."),
    "no-such-table": gettext_noop("Choose one of the tables found."),
    "pairs-differ": gettext_noop("Export all readings at the same wavelengths."),
    **format_words.MENDS,
}

QUESTIONS = {
    "scale": gettext_noop(
        "Are the values percent or factors? They lie between %(smallest)s and %(largest)s."
    ),
    "layout": gettext_noop("Does each reading stand in a row or in a column?"),
    "columns": gettext_noop("The file holds several sets of spectra. Which one is meant?"),
    "surface": gettext_noop(
        "The file speaks of light, transmittance or absorbance. Are these reflectances of a"
        " surface?"
    ),
    "label_column": gettext_noop("Which column holds the specimens' labels?"),
    "table": gettext_noop("The file holds %(count)s tables. Which one is meant?"),
    "mode": gettext_noop(
        "By its column “%(column)s” the file holds readings taken in %(count)s ways. Which ones are"
        " meant?"
    ),
    "other_rows": gettext_noop(
        "%(count)s readings seem to be no specimens (%(labels)s) but means, deviations or the"
        " target. Do they count?"
    ),
    "bands": gettext_noop(
        "The wavelengths go in steps of %(step)s nm; only whole steps can be kept. Take the"
        " %(count)s of %(all)s bands that lie at whole steps (%(grid)s), as they were measured?"
    ),
}

CHOICES = {
    "percent": gettext_noop("percent: 100 is the perfect diffuser"),
    "factor": gettext_noop("factor: 1 is the perfect diffuser"),
    "surface": gettext_noop("yes, reflectances of a surface"),
    "emission": gettext_noop("no, another quantity: light, transmittance, absorbance"),
    "rows": gettext_noop("one reading in each row"),
    "columns": gettext_noop("one reading in each column"),
    "row-number": gettext_noop("none: number the readings"),
    "bare": gettext_noop("columns named by the wavelength alone"),
    "unsaid": gettext_noop("those of which it says nothing"),
    "left": gettext_noop("no, leave them out"),
    "specimens": gettext_noop("yes, they are readings of specimens"),
    "whole": gettext_noop("yes, these bands; the others are left out"),
    "none": gettext_noop("no, do not read the file"),
}

ODDITIES = {
    "encoding-guessed": gettext_noop("The text is not UTF-8; it was read as %(encoding)s."),
    "preamble": gettext_noop("%(count)s lines before the table were left aside."),
    "structure-lines": gettext_noop("%(count)s lines of the file's own structure were left aside."),
    "count-disagrees": gettext_noop("The file states %(stated)s readings; it holds %(found)s."),
    "descending": gettext_noop("The wavelengths fall; the values were turned round."),
    "labels-numbered": gettext_noop("There are no labels: the readings were numbered."),
    "repeated-labels": gettext_noop(
        "%(count)s labels appear more than once: they are taken as repeated readings."
    ),
    "units-row": gettext_noop("Line %(line)s gives the unit “%(text)s” and no reading."),
    "percent-signs": gettext_noop("Every value carries a percent sign: it was taken off."),
    "mode-left": gettext_noop(
        "%(count)s readings were left out: by the column “%(column)s” they were taken in another"
        " way."
    ),
    "rows-left": gettext_noop(
        "%(count)s readings that are no specimens were left out: %(labels)s."
    ),
    "empty-cells": gettext_noop("%(count)s rows had empty cells between values; they were closed."),
    "negative": gettext_noop("%(count)s values are negative (first: “%(label)s”)."),
    "above-one": gettext_noop(
        "%(count)s values exceed the perfect diffuser (first: “%(label)s”): fluorescence, or a"
        " misreading."
    ),
    "dark-throughout": gettext_noop(
        "No value is above %(largest)s of the perfect diffuser: darker than most blacks. Look at"
        " the scale, and whether a surface was measured."
    ),
    "zeros": gettext_noop("%(count)s readings hold runs of zeros (first: “%(label)s”)."),
    "held-ends": gettext_noop(
        "In %(count)s readings the outermost band equals its neighbour (first: “%(label)s”):"
        " perhaps it was copied, not measured."
    ),
    "other-scale": gettext_noop(
        "%(count)s readings look like factors in a file of percent (first: “%(label)s”)."
    ),
    "fields-disagree": gettext_noop(
        "The file states %(stated)s fields; its format names %(found)s."
    ),
    "end-missing": gettext_noop("The data do not end as they should: the file may be cut off."),
    "keywords-repeated": gettext_noop(
        "%(count)s keywords appear again with another value (first: %(key)s)."
    ),
    "keywords-after": gettext_noop(
        "%(count)s keywords stand after the data and were not taken (first: %(key)s in line"
        " %(line)s)."
    ),
    "blocks-left": gettext_noop(
        "%(count)s blocks of data without spectra and colours were left aside (first: line"
        " %(line)s)."
    ),
    "axis-disagrees": gettext_noop(
        "The keyword %(key)s states %(stated)s; the names of the fields give %(found)s. The names"
        " were taken."
    ),
    "condition-contradicts": gettext_noop(
        "The file says different things of the same (%(key)s: %(values)s): none was taken."
    ),
    "remarks-like-readings": gettext_noop(
        "%(count)s lines beginning with # look like readings; they were left out as remarks."
    ),
    "columns-left": gettext_noop("%(count)s further columns were not read (first: “%(name)s”)."),
    "grid-without-weights": gettext_noop(
        "For %(start)s–%(stop)s nm in steps of %(step)s nm there are no weights that terms allow:"
        " the readings can be kept, not judged."
    ),
    "band-aside": gettext_noop(
        "The column “%(name)s” is none of the evenly spaced wavelengths; it was left out."
    ),
    "table-aside": gettext_noop(
        "%(count)s rows of another table without spectra were left aside (first: line %(line)s)."
    ),
    "number-cut": gettext_noop(
        "The file ends without a line end, and its last number (%(text)s) has fewer decimals than"
        " all others: perhaps it was cut off."
    ),
    "quotes-inside": gettext_noop(
        "%(count)s cells go on behind a closing quotation mark (first: line %(line)s): the marks"
        " were left out."
    ),
    "header-in-remark": gettext_noop(
        "Line %(line)s begins with #; it was taken as the header all the same."
    ),
    "bands-left-out": gettext_noop("%(count)s bands between whole steps were left out."),
    "chroma-disagrees": gettext_noop(
        "In %(count)s readings the stated chroma is not that of a* and b* (by up to %(largest)s):"
        " perhaps it was averaged. It was not used."
    ),
    "stated-unlike": gettext_noop(
        "The stated colours (%(fields)s, %(condition)s) are unlike those of the file's own spectra:"
        " CIEDE2000 %(mean)s on average, at most %(largest)s."
    ),
    "stated-fits": gettext_noop(
        "The stated colours (%(fields)s) fit the file's own spectra best under %(best)s: CIEDE2000"
        " %(mean)s on average, at most %(largest)s."
    ),
    "stated-unlike-any": gettext_noop(
        "The stated colours (%(fields)s) fit the file's own spectra under no light tried; best"
        " %(best)s: CIEDE2000 %(mean)s on average, at most %(largest)s."
    ),
    "stated-left": gettext_noop(
        "%(count)s further sets of stated colours were not compared with the spectra."
    ),
    "tables-unread": gettext_noop(
        "%(count)s of the tables cannot be taken (first: table %(number)s)."
    ),
    "named-workbook": gettext_noop("The name ends like that of a workbook; the file is text."),
    "named-comma": gettext_noop(
        "The name says that commas part the cells; in the file something else does."
    ),
    "named-text": gettext_noop("The name ends like that of text; the file is no plain text."),
    "named-xml": gettext_noop("The name ends like that of XML; the file is none."),
    "sent-as-other": gettext_noop("The file was sent as %(type)s; its content is of another form."),
    **format_words.ODDITIES,
}

# Oddities that are computed or come from the name: shown, never part of a frozen mapping.
UNRECORDED = {
    "stated-unlike",
    "stated-fits",
    "stated-unlike-any",
    "stated-left",
    "named-workbook",
    "named-comma",
    "named-text",
    "named-xml",
    "sent-as-other",
    "dark-throughout",
}

FORMATS = {
    "text": gettext_noop("table as text"),
    "framed-text": gettext_noop("CGATS.17 text (ISO 28178)"),
    **format_words.FORMATS,
}

EVIDENCE = {
    "declared-percent": gettext_noop("the file says percent"),
    "declared-factor": gettext_noop("the file says factor"),
    "values-percent": gettext_noop("values up to %(largest)s can only be percent"),
    "values-factor": gettext_noop("values from %(smallest)s to %(largest)s fit factors"),
    "values-mixed": gettext_noop(
        "some readings go up to %(largest)s, others stay as low as factors"
    ),
    "values-unclear": gettext_noop("values from %(smallest)s to %(largest)s fit both"),
}

PIECES = {
    "illuminant": gettext_noop("Illuminant"),
    "observer": gettext_noop("Colorimetric observer"),
    "geometry": gettext_noop("Geometry"),
    "specular": gettext_noop("Specular component"),
    "aperture": gettext_noop("Aperture (mm)"),
    "uv": gettext_noop("Ultraviolet in the light"),
    "backing": gettext_noop("Backing"),
}

QUANTITIES = {
    "reflectance": gettext_noop("reflectance"),
    "transmittance": gettext_noop("transmittance"),
    "emission": gettext_noop("light"),
    "unknown": gettext_noop("not said"),
}
