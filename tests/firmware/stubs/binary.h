/* The macros of every core's binary.h that names could meet. */
#define B0 0
#define B1 1
#define B00 0
#define B01 1
#define B10 2
#define B11 3
