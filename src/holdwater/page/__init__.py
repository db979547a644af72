"""The page to play with: dials on one side, the verdict and the storage on the other, served on this machine only."""
