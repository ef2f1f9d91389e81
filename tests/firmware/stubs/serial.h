/* The serial line, as far as a sketch uses it. */
#ifdef __cplusplus
class SerialLine {
public:
    void begin(unsigned long baud);
    int availableForWrite();
    unsigned int print(const char *text);
    unsigned int write(uint8_t letter);
};
extern SerialLine Serial;
#endif
