"""Orders and records in shapes of HL7 FHIR: NutritionOrder (R4, R4B, R5) in, NutritionIntake and Observation out."""
