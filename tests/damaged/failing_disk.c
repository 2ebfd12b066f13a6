/* A disk with a fault: reading the file FAILING_FILE fails from the byte FAILING_FROM on. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

ssize_t read(int file, void *to, size_t bytes) {
    static ssize_t (*system_read)(int, void *, size_t);
    if (!system_read) system_read = (ssize_t(*)(int, void *, size_t))dlsym(RTLD_NEXT, "read");
    const char *name = getenv("FAILING_FILE"), *from = getenv("FAILING_FROM");
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (name && from && length > 0) {
        path[length] = 0;
        const char *last = strrchr(path, '/');
        if (last && !strcmp(last + 1, name) && lseek(file, 0, SEEK_CUR) >= atoll(from)) {
            errno = EIO;
            return -1;
        }
    }
    return system_read(file, to, bytes);
}
