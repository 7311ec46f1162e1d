"""What a bench test is and its physics: declarations and pure functions; knows no workbook.

Everything is declared here, in one order: columns stand in the order of their declarations, and whichever module a program
asks for first, its workbooks are to be the same byte by byte.
"""

from xlsengine.bench import model as model
