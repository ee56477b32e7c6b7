"""An invented garden, its stock book filled from the sample photographs."""
