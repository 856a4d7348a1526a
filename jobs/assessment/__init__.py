"""Takes readings note by note; gives findings in an owner's words and the operations they point to."""
