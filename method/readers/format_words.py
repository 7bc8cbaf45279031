"""Words of the readers of sheets, CxF and lamps, by id; words.py takes them in."""

from method.words import gettext_noop

MESSAGES: dict[str, str] = {
    "xml-broken": gettext_noop("This is no well-formed XML: %(fault)s."),
    "xml-cut": gettext_noop("The XML ends before it is complete."),
    "xml-document-type": gettext_noop(
        "The XML declares a document type or entities; such files are not read."
    ),
    "xml-encoding": gettext_noop("The encoding “%(encoding)s” that the XML declares is not read."),
    "xml-deep": gettext_noop("The XML nests more than %(limit)s elements."),
    "xml-many": gettext_noop("The XML has more than %(limit)s elements."),
    "xml-attributes": gettext_noop(
        "An element has more than %(limit)s attributes, or one of more than %(size)s characters."
    ),
    "xml-token": gettext_noop("One tag or comment has more than %(limit)s bytes."),
    "xml-root": gettext_noop("The XML begins with “%(found)s”; “%(expected)s” was expected."),
    "xml-namespace": gettext_noop(
        "The XML stands in the namespace “%(found)s”; %(expected)s was expected."
    ),
    "xml-text": gettext_noop("The element holds more text than any spectrum."),
    "value-not-number": gettext_noop("Value %(position)s, “%(text)s”, is not a number."),
    "too-many-values": gettext_noop(
        "The spectrum has %(found)s values; at most %(limit)s are read."
    ),
    "cxf-no-objects": gettext_noop("The file holds no objects."),
    "cxf-specification-twice": gettext_noop("The specification “%(id)s” is given twice."),
    "cxf-specification-missing": gettext_noop("There is no specification “%(id)s”."),
    "cxf-increment": gettext_noop("%(increment)s is no step between wavelengths."),
    "cxf-range-missing": gettext_noop(
        "The specification “%(id)s” does not say at which wavelengths the values stand."
    ),
    "cxf-range": gettext_noop(
        "By its specification the spectrum goes from %(first)s to %(last)s nm: this cannot be."
    ),
    "zip-broken": gettext_noop("The archive is damaged or incomplete."),
    "zip-members": gettext_noop("The archive holds more than %(limit)s members."),
    "zip-twice": gettext_noop("The archive holds two members named “%(member)s”."),
    "zip-overlap": gettext_noop("The member “%(member)s” of the archive lies over another one."),
    "zip-bomb": gettext_noop("The member “%(member)s” unpacks to more than is read."),
    "zip-sizes": gettext_noop("The member “%(member)s” is not as large as the archive says."),
    "xml-not-number": gettext_noop("“%(text)s” is not a number."),
    "xlsx-not-workbook": gettext_noop("This is no .xlsx workbook."),
    "xlsx-old": gettext_noop("This is a workbook of the older .xls form (or a like document)."),
    "xlsx-binary": gettext_noop("This is a workbook of the binary .xlsb form."),
    "xlsx-macros": gettext_noop("This workbook carries macros."),
    "xlsx-encrypted": gettext_noop("This workbook is encrypted."),
    "xlsx-strict": gettext_noop("This workbook is of the strict form of ISO 29500."),
    "xlsx-sheets": gettext_noop("The workbook has more than %(limit)s sheets."),
    "xlsx-broken": gettext_noop("The workbook's parts do not fit together."),
    "xlsx-order": gettext_noop("Rows or cells of the sheet are out of order or given twice."),
    "xlsx-position": gettext_noop("A row or cell stands where no sheet has one."),
    "too-many-cells": gettext_noop("The workbook has more than %(limit)s cells with values."),
    "lamp-no-spectrum": gettext_noop("There is no spectrum of a light in the file."),
    "lamp-columns": gettext_noop("%(found)s values stand beside a wavelength; one is read."),
    "lamp-not-light": gettext_noop("The values are “%(quantity)s”: this is no light."),
    "lamp-few": gettext_noop("The spectrum has %(found)s points; at least %(least)s are needed."),
    "lamp-wavelength": gettext_noop(
        "The wavelength %(wavelength)s does not lie between %(least)s and %(most)s nm."
    ),
    "wavelength-twice": gettext_noop("The wavelength %(wavelength)s nm appears twice in a row."),
    "lamp-order": gettext_noop(
        "The wavelengths go back and forth: %(before)s nm is followed by %(after)s nm."
    ),
    "lamp-dark": gettext_noop("No value of the spectrum is above zero."),
    "lamp-below-zero": gettext_noop(
        "The value %(value)s at %(wavelength)s nm is further below zero than any noise."
    ),
}

MENDS: dict[str, str] = {
    "xml-not-number": gettext_noop("Export the file again: a number is expected here."),
    "xml-broken": gettext_noop("Export the file again; do not edit it by hand."),
    "xml-cut": gettext_noop("Send the file again: a part of it was lost."),
    "xml-document-type": gettext_noop(
        "Export the measurement again; measurement files need no document type."
    ),
    "xml-encoding": gettext_noop("Export the measurement as UTF-8."),
    "xml-deep": gettext_noop("Export the file again: no measurement file nests like this."),
    "xml-many": gettext_noop("Split the export into several files."),
    "xml-attributes": gettext_noop("Export the file again: no measurement file is like this."),
    "xml-token": gettext_noop("Export the file again: no measurement file is like this."),
    "xml-root": gettext_noop(
        "Export the readings as text, as a workbook or as CxF3; a lamp's spectrum as IES TM-27."
    ),
    "xml-namespace": gettext_noop("Export the file again in the published form."),
    "xml-text": gettext_noop("Export the file again: no measurement file is like this."),
    "value-not-number": gettext_noop("Export the file again, or leave the object out."),
    "too-many-values": gettext_noop("Export the spectra in steps of 1 nm or more."),
    "cxf-no-objects": gettext_noop("Export the measurements together with their objects."),
    "cxf-specification-twice": gettext_noop(
        "Export the file again: which of them is meant cannot be known."
    ),
    "cxf-specification-missing": gettext_noop(
        "Export the file again with the specifications of its colours."
    ),
    "cxf-increment": gettext_noop("Export the file again: a step is a number above zero."),
    "cxf-range-missing": gettext_noop(
        "Export the file again with the wavelength range of each specification."
    ),
    "cxf-range": gettext_noop("Export the file again: the step or the first wavelength is wrong."),
    "zip-broken": gettext_noop("Save the workbook again and send it once more."),
    "zip-members": gettext_noop("Save the sheet with the measurements alone."),
    "zip-twice": gettext_noop("Save the workbook again with a spreadsheet program."),
    "zip-overlap": gettext_noop("Save the workbook again with a spreadsheet program."),
    "zip-bomb": gettext_noop("Save the sheet with the measurements alone, or as CSV."),
    "zip-sizes": gettext_noop("Save the workbook again with a spreadsheet program."),
    "xlsx-not-workbook": gettext_noop("Save the measurements as .xlsx or as CSV."),
    "xlsx-old": gettext_noop("Save it as .xlsx or as CSV."),
    "xlsx-binary": gettext_noop("Save it as .xlsx or as CSV."),
    "xlsx-macros": gettext_noop("Save it as .xlsx without macros, or as CSV."),
    "xlsx-encrypted": gettext_noop("Save it without a password."),
    "xlsx-strict": gettext_noop("Save it as an ordinary .xlsx workbook, or as CSV."),
    "xlsx-sheets": gettext_noop("Save the sheet with the measurements alone."),
    "xlsx-broken": gettext_noop("Save the workbook again with a spreadsheet program, or as CSV."),
    "xlsx-order": gettext_noop("Save the workbook again with a spreadsheet program, or as CSV."),
    "xlsx-position": gettext_noop("Save the workbook again with a spreadsheet program, or as CSV."),
    "too-many-cells": gettext_noop("Split the workbook, or save the measurements as CSV."),
    "lamp-no-spectrum": gettext_noop(
        "Give a wavelength in nm and a value on each line, or an IES TM-27 file."
    ),
    "lamp-columns": gettext_noop(
        "Give one value on each line; where commas are decimal marks, separate by semicolons."
    ),
    "lamp-not-light": gettext_noop("Upload the spectrum of the light itself."),
    "lamp-few": gettext_noop("Export the whole spectrum."),
    "lamp-wavelength": gettext_noop("Give wavelengths in nm."),
    "wavelength-twice": gettext_noop("Export every wavelength once."),
    "lamp-order": gettext_noop("Sort the lines by wavelength."),
    "lamp-dark": gettext_noop("Measure again with the lamp lit."),
    "lamp-below-zero": gettext_noop("Correct for the dark signal and measure again."),
}

ODDITIES: dict[str, str] = {
    "foreign-left": gettext_noop("%(count)s parts of other makers were left alone."),
    "cxf-resources-left": gettext_noop(
        "%(count)s further parts “Resources” were left aside (first: line %(line)s)."
    ),
    "cxf-id-missing": gettext_noop("%(count)s objects have no id."),
    "cxf-id-twice": gettext_noop("%(count)s ids belong to several objects (first: “%(id)s”)."),
    "cxf-no-values": gettext_noop("%(count)s objects have no colour values (first: “%(label)s”)."),
    "cxf-private": gettext_noop(
        "%(count)s spectra are encrypted by their maker and were left out (first: “%(label)s”)."
    ),
    "cxf-short": gettext_noop(
        "%(count)s spectra have too few values and were left out (first: “%(label)s”)."
    ),
    "cxf-kind-unsaid": gettext_noop(
        "The specification “%(id)s” does not say whether surfaces or lights were measured."
    ),
    "cxf-lengths-differ": gettext_noop(
        "Under the specification “%(id)s” spectra have different numbers of values: %(lengths)s."
    ),
    "cxf-above-factor": gettext_noop(
        "Values go up to %(largest)s, although this format writes factors up to 3."
    ),
    "cxf-start-disagrees": gettext_noop(
        "The specification begins at %(stated)s nm, the spectra at %(found)s nm; this was taken."
    ),
    "cxf-colours-unmatched": gettext_noop(
        "Of %(count)s objects, colours belong to no single spectrum (first: “%(label)s”)."
    ),
    "cxf-calibration": gettext_noop("Calibrated to “%(standard)s” (specification “%(id)s”)."),
    "cxf-multi-angle": gettext_noop(
        "The specification “%(id)s” names %(count)s angles, not which spectrum belongs to which."
    ),
    "sheet-hidden": gettext_noop("The sheet “%(sheet)s” is hidden."),
    "formulas-saved": gettext_noop(
        "%(count)s cells hold formulas (first: %(first)s): their values are taken as saved."
    ),
    "formulas-unsaved": gettext_noop(
        "%(count)s cells hold formulas without a saved value (first: %(first)s)."
    ),
    "cells-merged": gettext_noop(
        "%(count)s groups of cells are merged (first: %(first)s): the first cell holds the value."
    ),
    "rows-hidden": gettext_noop("%(count)s rows with values are hidden (first: %(first)s)."),
    "columns-hidden": gettext_noop("%(count)s groups of columns are hidden (first: %(first)s)."),
    "cells-dates": gettext_noop("%(count)s cells are dates or times (first: %(first)s)."),
    "cells-percent": gettext_noop(
        "%(count)s cells are shown as percent (first: %(first)s): the stored numbers are taken."
    ),
    "cells-errors": gettext_noop("%(count)s cells show an error (first: %(first)s)."),
    "lamp-range": gettext_noop("The spectrum covers %(first)s to %(last)s nm only."),
    "lamp-negative": gettext_noop("%(count)s values of the spectrum are negative."),
    "lamp-quantity-unsaid": gettext_noop("The file does not say which quantity was measured."),
    "lamp-sections": gettext_noop(
        "The spectrum is written %(count)s times; the one with %(points)s points was taken."
    ),
}

FORMATS = {
    "xlsx": gettext_noop("workbook"),
    "cxf3": gettext_noop("CxF3 (ISO 17972)"),
    "tm27": gettext_noop("lamp spectrum, IES TM-27"),
    "lamp-text": gettext_noop("lamp spectrum, text"),
}
