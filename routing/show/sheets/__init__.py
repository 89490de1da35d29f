"""What all drawings share: sheets, type, labels, hatches, title block and files."""
