package androidx.activity

/** As empty as the classes of libraries.txt. */
fun ComponentActivity.enableEdgeToEdge() = Unit
