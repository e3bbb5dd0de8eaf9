"""How words sound: phones, letters to phones, how alike they are, terms found by sound. Pure, shared."""
