"""What is printed or handed on: the household's sheet, the handover, the nurse line's note, the calendar."""
