package org.carrybeat.phone

import com.fasterxml.jackson.annotation.JsonAutoDetect
import com.fasterxml.jackson.annotation.PropertyAccessor
import com.fasterxml.jackson.databind.DeserializationFeature
import com.fasterxml.jackson.databind.JsonNode
import com.fasterxml.jackson.databind.ObjectMapper
import java.io.File

/** The examples that Rust's tests read as well; Gradle runs tests in the module's folder, beside them. */
internal object Examples {
    /** As Tauri sets its own. */
    val mapper: ObjectMapper =
        ObjectMapper()
            .disable(DeserializationFeature.FAIL_ON_UNKNOWN_PROPERTIES)
            .enable(DeserializationFeature.FAIL_ON_NULL_FOR_PRIMITIVES)
            .setVisibility(PropertyAccessor.FIELD, JsonAutoDetect.Visibility.ANY)

    private val all: JsonNode = mapper.readTree(File(System.getProperty("carrybeat.examples") ?: "../examples.json"))

    val news: List<JsonNode> = all["news"].toList()

    /** The arguments of a command's examples, in their order. */
    fun args(command: String): List<String> =
        all["wishes"].filter { it["command"].asText() == command }.map { it["args"].toString() }

    val commands: Set<String> = all["wishes"].map { it["command"].asText() }.toSet()

    /** What goes through the channel, read back. */
    fun json(news: News): JsonNode = mapper.readTree(mapper.writeValueAsString(news.json))
}

/** Runs something as on a phone of that version. `false` if Gradle's framework does not let it; ours has to. */
internal fun onSdk(level: Int, run: () -> Unit): Boolean {
    val field = android.os.Build.VERSION::class.java.getField("SDK_INT")
    try {
        field.setInt(null, level)
    } catch (fixed: IllegalAccessException) {
        if (System.getProperty("carrybeat.examples") != null) throw fixed
        return false
    }
    try {
        run()
    } finally {
        field.setInt(null, 0)
    }
    return true
}

/** Keeps what is told, as JSON in text. */
internal class Heard {
    val post = Post()
    val said = ArrayList<String>()

    init {
        post.listen { said.add(Examples.mapper.writeValueAsString(it)) }
    }

    /** What was said since the last look. */
    fun take(): List<String> = said.toList().also { said.clear() }
}
