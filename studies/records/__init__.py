"""Press tests as they were made: kept, listed, laid beside what was predicted."""
