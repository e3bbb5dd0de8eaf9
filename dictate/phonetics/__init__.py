"""How words sound: phones, letters to phones, how alike phones are, terms retrieved by sound. Pure, shared."""
