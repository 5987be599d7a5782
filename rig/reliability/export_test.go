package reliability

// Sobol is what the sequence is before it is scrambled.
var Sobol = sobol
