package words

// maxReason is the longest reason, in characters.
const MaxReason = 300
