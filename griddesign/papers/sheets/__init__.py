"""The sheets: each module fills one sheet from the result; nothing is computed here."""
