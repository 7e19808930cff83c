package org.carrybeat.phone

import android.app.Activity
import android.app.KeyguardManager
import android.content.Context
import android.content.Intent
import android.os.Handler
import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Rule
import org.junit.Test
import org.junit.rules.TemporaryFolder
import org.mockito.ArgumentMatchers.any
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mock
import java.io.File
import java.io.IOException

class ShareTest {
    @get:Rule
    val folder = TemporaryFolder()

    @Test
    fun `the folder that others may look into holds what is handed over and nothing of before`() {
        val handed = File(folder.root, "handed")
        val first = folder.newFile("first.pdf").apply { writeText("one") }
        val others = listOf("two", "three").map { name -> folder.newFile("$name.csv").apply { writeText(name) } }
        Share.copy(listOf(first), handed)
        val copies = Share.copy(others, handed)
        assertEquals(listOf("three.csv", "two.csv"), handed.list()?.sorted())
        assertEquals("in their order", listOf("two", "three"), copies.map { it.readText() })
        assertEquals("the record stays", "one", first.readText())
    }

    @Test
    fun `a file that is not there is said, and so is a second one of the same name`() {
        val handed = File(folder.root, "handed")
        val there = folder.newFile("there.csv")
        assertThrows(IOException::class.java) { Share.copy(listOf(there, File(folder.root, "none.pdf")), handed) }
        val other = File(folder.newFolder("other"), "there.csv").apply { writeText("another") }
        assertThrows(IOException::class.java) { Share.copy(listOf(there, other), handed) }
    }

    @Test
    fun `what the system refuses as files are handed over is said, and ends nothing`() {
        val context = mock(Context::class.java)
        val guard = mock(KeyguardManager::class.java)
        val handler = mock(Handler::class.java)
        `when`(context.cacheDir).thenReturn(folder.root)
        `when`(context.getSystemService(Context.KEYGUARD_SERVICE)).thenReturn(guard)
        `when`(guard.isKeyguardLocked).thenThrow(SecurityException("not now"))
        `when`(handler.post(any(Runnable::class.java))).thenAnswer {
            (it.arguments[0] as Runnable).run()
            true
        }
        val said = ArrayList<String?>()
        val file = folder.newFile("run.pdf")
        Share(context, { it.run() }, handler).share(listOf(file.path), mock(Activity::class.java)) { said.add(it) }
        assertEquals(1, said.size)
        assertTrue(said.single(), "not now" in said.single().orEmpty())
    }

    @Test
    fun `several files are offered to apps that take several, as what they have in common`() {
        assertEquals(Intent.ACTION_SEND, Share.action(1))
        assertEquals(Intent.ACTION_SEND_MULTIPLE, Share.action(2))
        assertEquals("text/csv", Share.kind(listOf("a.csv", "b.csv")))
        assertEquals("text/*", Share.kind(listOf("a.csv", "b.txt")))
        assertEquals("*/*", Share.kind(listOf("a.csv", "b.pdf")))
    }

    @Test
    fun `kinds by their ending`() {
        assertEquals("application/pdf", Share.kind("run.PDF"))
        assertEquals("application/json", Share.kind("run.rec.jsonl"))
        assertEquals("application/octet-stream", Share.kind("run"))
    }
}
