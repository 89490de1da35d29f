"""Maps, profiles and step text: everything a person looks at."""
