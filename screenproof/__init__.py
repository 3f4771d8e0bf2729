"""Matches colours between displays, which add light, and inks, paints and dyes, which take light away.

The rooms are imported by name where they are needed (``from screenproof.proof import match``), so that
``import screenproof`` itself costs next to nothing:

* :mod:`screenproof.spectra`: lights, observers, measured samples, and the weights that give tristimulus values
* :mod:`screenproof.appearance`: white points, adaptation, colour spaces, colour differences
* :mod:`screenproof.additive`: displays, their fit from readings, their inverse
* :mod:`screenproof.proof`: match, gamut, shift, tolerances, verdicts, and the result of a job
* :mod:`screenproof.formats`: open file formats in and out
* :mod:`screenproof.report`: the proof page, a pure function of a result
* :mod:`screenproof.jobs`: a job file, its run and its output folder
* :mod:`screenproof.cli`: the command line
"""

__version__ = "0.1.0"
