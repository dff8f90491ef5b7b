package stats

// arlNodes is the number of Gauss-Legendre nodes of the integral equations.
const arlNodes = 60
